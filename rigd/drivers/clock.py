"""The Clock port on the machine's own clocks."""

from __future__ import annotations

import asyncio
import time
from datetime import UTC, datetime


class RealClock:
    """Wall time in UTC, the monotonic clock, and asyncio's sleep."""

    def now(self) -> datetime:
        """The time of day, UTC."""
        return datetime.now(UTC)

    def monotonic(self) -> float:
        """Seconds that never run backwards."""
        return time.monotonic()

    async def sleep(self, seconds: float) -> None:
        """Return after `seconds`; at once (but not before others had their turn) for 0 or less."""
        await asyncio.sleep(max(0.0, seconds))
