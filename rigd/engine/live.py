"""Live pictures for everybody who watches: one reader of the camera, the newest picture wins, off when nobody looks."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from rigd.errors import CameraError
from rigd.ports import Clock, LiveView

# Live view warms the sensor and drains the battery: ten pictures a second are enough to place film by hand.
_PACE_S = 0.1


class LiveFeed:
    """`watch()` while somebody looks; `still()` around an exposure, when live view must be off."""

    def __init__(self, live: LiveView, clock: Clock) -> None:
        self._live = live
        self._clock = clock
        self._watchers = 0
        self._number = 0
        self._picture = b""
        self._news = asyncio.Condition()
        self._camera = asyncio.Lock()
        self._running = False

    @property
    def on(self) -> bool:
        """True while somebody watches."""
        return self._watchers > 0

    @property
    def last(self) -> tuple[int, bytes]:
        """Number and JPEG of the newest picture; number 0 and no bytes before the first."""
        return self._number, self._picture

    @asynccontextmanager
    async def watch(self) -> AsyncIterator[None]:
        """Keeps live view wanted for as long as the block runs."""
        self._watchers += 1
        async with self._news:
            self._news.notify_all()
        try:
            yield
        finally:
            self._watchers -= 1

    async def next_picture(self, after: int) -> tuple[int, bytes]:
        """The newest picture with a number over `after`; waits for it."""
        async with self._news:
            await self._news.wait_for(lambda: self._number > after)
            return self._number, self._picture

    @asynccontextmanager
    async def still(self) -> AsyncIterator[None]:
        """Live view is off inside the block, and the camera belongs to the exposure."""
        async with self._camera:
            await self._off()
            yield

    async def run(self) -> None:
        """The reader. Runs until it is cancelled; a camera that does not answer is left to the engine to win back."""
        while True:
            async with self._news:
                await self._news.wait_for(lambda: self.on)
            try:
                async with self._camera:
                    await self._one()
            except CameraError:
                self._running = False
                await self._clock.sleep(1.0)
            await self._clock.sleep(_PACE_S)
            if not self.on:
                async with self._camera:
                    await self._off()

    async def _one(self) -> None:
        if not self._running:
            await self._live.start()
            self._running = True
        picture = await self._live.picture()
        async with self._news:
            self._number, self._picture = self._number + 1, picture
            self._news.notify_all()

    async def _off(self) -> None:
        if not self._running:
            return
        self._running = False
        try:
            await self._live.stop()
        except CameraError:
            return
