"""The shutter: idle, exposing, writing; one shot at a time."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Coroutine
from dataclasses import replace
from datetime import timedelta
from enum import Enum
from fractions import Fraction

from rigd_sim.camera.card import Card, CardFull, Picture
from rigd_sim.camera.clock import SceneClock
from rigd_sim.camera.codes import Event, Response
from rigd_sim.camera.darkroom import Exposure
from rigd_sim.camera.faults import Faults

Notify = Callable[[Event, int, tuple[int, ...]], None]
Spawn = Callable[[Coroutine[None, None, None]], object]
Develop = Callable[[Exposure], Picture]


class State(Enum):
    IDLE = "idle"
    EXPOSING = "exposing"
    WRITING = "writing"


class Shutter:
    """`press` starts a shot and returns at once; the shot then runs by itself, connection or not.

    aim      focuses and meters if the settings say so, and gives the exposure that starts when it returns.
    develop  blocking, runs in a thread.
    room     bytes that must be free on the card before the shutter opens.
    """

    def __init__(
        self, clock: SceneClock, card: Card, faults: Faults, aim: Callable[[], Awaitable[Exposure]], develop: Develop,
        notify: Notify, spawn: Spawn, room: int,
    ) -> None:  # fmt: skip
        self._clock, self._card, self._faults = clock, card, faults
        self._aim, self._develop = aim, develop
        self._notify, self._spawn, self._room = notify, spawn, room
        self._last: memoryview | None = None
        self.state = State.IDLE

    def press(self, transaction: int = 0) -> Response:
        """Open the shutter; OK, DEVICE_BUSY or STORE_FULL. transaction: named in the closing event."""
        if self.state is not State.IDLE:
            return Response.DEVICE_BUSY
        if self._card.free < self._room or self._faults.take("capture", "card_full"):
            return Response.STORE_FULL
        self.state = State.EXPOSING
        self._spawn(self._shoot(transaction))
        return Response.OK

    async def _shoot(self, transaction: int) -> None:
        try:
            exposure = await self._aim()
            if other := self._faults.take("picture", "other_shutter"):
                exposure = replace(exposure, seconds=Fraction(other.seconds or 1.0).limit_denominator(8000))
            await self._clock.wait_until(exposure.end)
            self.state = State.WRITING
            picture = await self._picture(exposure)
        finally:
            self.state = State.IDLE
        self._file(picture, transaction)

    async def _picture(self, exposure: Exposure) -> Picture:
        if wrong := self._faults.take("picture", "wrong_time"):
            shift = timedelta(seconds=wrong.seconds or -3600.0)
            exposure = replace(exposure, taken=exposure.taken + shift)
        picture = await asyncio.to_thread(self._develop, exposure)
        fresh, stale = picture.data, self._last
        self._last = fresh
        if stale is not None and self._faults.take("picture", "stale_picture"):
            picture = replace(picture, data=stale)
        if short := self._faults.take("picture", "short_file"):
            picture = replace(picture, data=picture.data[: short.after_bytes or len(picture.data) // 2])
        return picture

    def _file(self, picture: Picture, transaction: int) -> None:
        try:
            if self._faults.take("picture", "card_full"):
                raise CardFull
            handle = self._card.add(picture)
        except CardFull:
            self._notify(Event.STORE_FULL, transaction, ())
            return
        self._notify(Event.OBJECT_ADDED, transaction, (handle,))
        self._notify(Event.CAPTURE_COMPLETE, transaction, ())
