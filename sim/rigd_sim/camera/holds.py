"""Ways for the camera to stand still until told otherwise."""

from __future__ import annotations

import asyncio
from contextlib import suppress


class Freeze:
    """The whole camera hangs: nothing is read, done or sent until it ends."""

    def __init__(self) -> None:
        self._running = asyncio.Event()
        self._running.set()

    def begin(self, seconds: float | None = None) -> None:
        """Hang, for so long or until `end`."""
        self._running.clear()
        if seconds is not None:
            asyncio.get_running_loop().call_later(seconds, self.end)

    def end(self) -> None:
        self._running.set()

    async def over(self) -> None:
        """Return at once while the camera runs, else when it runs again."""
        await self._running.wait()


class Stalls:
    """Single waits that end by time, or all together by `release`."""

    def __init__(self) -> None:
        self._released = asyncio.Event()

    async def wait(self, seconds: float | None = None) -> None:
        """Wait so long, or until the next `release`."""
        with suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._released.wait()

    def release(self) -> None:
        self._released.set()
        self._released = asyncio.Event()
