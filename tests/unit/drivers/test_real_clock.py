from __future__ import annotations

import asyncio
from datetime import UTC, datetime

from rigd.drivers.clock import RealClock


def test_the_time_of_day_is_utc_and_the_systems() -> None:
    before, now, after = datetime.now(UTC), RealClock().now(), datetime.now(UTC)
    assert now.utcoffset() is not None
    assert before <= now <= after


async def test_sleep_lasts_as_long_as_asked_and_a_negative_one_not_at_all() -> None:
    clock = RealClock()
    start = clock.monotonic()
    await clock.sleep(0.02)
    assert clock.monotonic() - start >= 0.02
    async with asyncio.timeout(1):
        await clock.sleep(-5)
