"""Live pictures for everybody who watches: one reader of the camera, the newest picture wins, off when nobody looks."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass

from msgspec import Struct

from rigd.errors import CameraError
from rigd.ports import Clock, LiveView

# Live view warms the sensor and drains the battery: ten pictures a second are enough to place film by hand.
PACE_S = 0.1
# A camera that gives pictures more slowly than they are wanted is still left alone for so long between two.
_BREATH_S = 0.005


class Shown(Struct, frozen=True):
    """One live picture: its number (from 1), when it came (the clock's monotonic seconds), the JPEG, and when it was
    asked for: it shows some moment between the two."""

    number: int
    at: float
    jpeg: bytes
    asked: float = 0.0


@dataclass(eq=False)
class Watching:
    """Somebody looks, and wants a picture every `pace_s` seconds: the hastiest of all decides."""

    pace_s: float


class LiveFeed:
    """`watch()` while somebody looks; `still()` around an exposure, when live view must be off."""

    def __init__(self, live: LiveView, clock: Clock) -> None:
        self._live = live
        self._clock = clock
        self._watchers: list[Watching] = []
        self._shown = Shown(0, 0.0, b"")
        self._news = asyncio.Condition()
        self._camera = asyncio.Lock()
        self._running = False
        self._held = False

    @property
    def on(self) -> bool:
        """True while somebody watches."""
        return bool(self._watchers)

    @property
    def last(self) -> tuple[int, bytes]:
        """Number and JPEG of the newest picture; number 0 and no bytes before the first."""
        return self._shown.number, self._shown.jpeg

    @asynccontextmanager
    async def watch(self, pace_s: float = PACE_S) -> AsyncIterator[Watching]:
        """Keeps live view wanted for as long as the block runs; the pace may be changed meanwhile."""
        watching = Watching(pace_s)
        self._watchers.append(watching)
        async with self._news:
            self._news.notify_all()
        try:
            yield watching
        finally:
            self._watchers.remove(watching)

    async def next_picture(self, after: int) -> tuple[int, bytes]:
        """The newest picture with a number over `after`; waits for it."""
        shown = await self.shown_after(after)
        return shown.number, shown.jpeg

    async def shown_after(self, number: int) -> Shown:
        """The same, with its time."""
        async with self._news:
            await self._news.wait_for(lambda: self._shown.number > number)
            return self._shown

    @asynccontextmanager
    async def held(self) -> AsyncIterator[None]:
        """No further picture until the exposure inside the block, and live view is left meanwhile: it need wait for
        neither. For orders that look at no picture before it."""
        self._held = True
        leaving = asyncio.create_task(self._leave(), name="leave live view")
        try:
            yield
        finally:
            await asyncio.gather(leaving, return_exceptions=True)
            await self._release()

    async def _release(self) -> None:
        self._held = False
        async with self._news:
            self._news.notify_all()

    async def _leave(self) -> None:
        async with self._camera:
            await self._off()

    @asynccontextmanager
    async def still(self) -> AsyncIterator[None]:
        """Live view is off inside the block, and the camera belongs to the exposure."""
        async with self._camera:
            await self._off()
            yield
        await self._release()

    @asynccontextmanager
    async def between(self) -> AsyncIterator[None]:
        """The camera between two live pictures, live view left on: to change a setting that shows in the next ones."""
        async with self._camera:
            yield

    async def run(self) -> None:
        """The reader. Runs until it is cancelled; a camera that does not answer is left to the engine to win back."""
        while True:
            async with self._news:
                await self._news.wait_for(lambda: self.on and not self._held)
            began = self._clock.monotonic()
            try:
                async with self._camera:
                    if not self._held:
                        await self._one()
            except CameraError:
                self._running = False
                await self._clock.sleep(1.0)
            pace_s = min((w.pace_s for w in self._watchers), default=PACE_S)
            await self._clock.sleep(max(_BREATH_S, pace_s - (self._clock.monotonic() - began)))
            if not self.on:
                async with self._camera:
                    await self._off()

    async def _one(self) -> None:
        if not self._running:
            await self._live.start()
            self._running = True
        asked = self._clock.monotonic()
        picture = await self._live.picture()
        async with self._news:
            self._shown = Shown(self._shown.number + 1, self._clock.monotonic(), picture, asked)
            self._news.notify_all()

    async def _off(self) -> None:
        if not self._running:
            return
        self._running = False
        try:
            await self._live.stop()
        except CameraError:
            return
