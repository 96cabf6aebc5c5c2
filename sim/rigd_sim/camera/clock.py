"""The two clocks of the camera: the one that times exposures, and the one that dates files."""

from __future__ import annotations

import asyncio
import time
from datetime import datetime, timedelta


class SceneClock:
    """Seconds of the scene: the machine's monotonic clock, or a multiple of it.

    With speed 4 an exposure of 2 s takes half a second, and so does the film's two second move; the
    protocol's own time limits stay what they are.
    """

    def __init__(self, speed: float = 1.0) -> None:
        self._speed = speed
        self._origin = time.monotonic()

    def now(self) -> float:
        return self._origin + (time.monotonic() - self._origin) * self._speed

    async def wait_until(self, moment: float) -> None:
        """Return when the scene's time is `moment`, at once if it has passed."""
        await asyncio.sleep(max(0.0, (moment - self.now()) / self._speed))


class CalendarClock:
    """The date and time the body believes in: the host's local time plus an offset that can be set."""

    def __init__(self, offset: timedelta = timedelta()) -> None:
        self.offset = offset

    def now(self) -> datetime:
        return datetime.now() + self.offset

    def set(self, moment: datetime) -> None:
        self.offset = moment - datetime.now()

    def shift(self, seconds: float) -> None:
        """Run ahead of the host's clock by so much."""
        self.offset = timedelta(seconds=seconds)
