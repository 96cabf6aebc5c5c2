"""The board's pedals as a Trigger; its other news that an operator should see come the same way."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress

from rigd.drivers.board.client import BoardClient
from rigd.drivers.board.words import Boot, Event, FilmMoved, Greeted, PedalEdge, Stopped
from rigd.drivers.pedal.gestures import Edge, Found, Timing
from rigd.drivers.pedal.recogniser import Recogniser
from rigd.errors import BoardError
from rigd.ports import Change, Clock, Press

SOURCE = "board"
AGAIN_S = 2.0  # between attempts to reach a board that has gone: a cable is put back by hand


class BoardPedals:
    """Presses of the board's pedals (source "board pedal 1", "board pedal 2"), film, stop, loss and return.

    A board that has gone is looked for until it is back; that moves no film (BoardClient.reach). Gestures are timed by
    the board's own clock, so that a busy host cannot turn a short press into a long one.
    """

    def __init__(self, client: BoardClient, clock: Clock, timing: Timing | None = None) -> None:
        self._client, self._clock, self._timing = client, clock, timing or Timing()
        self._queue: asyncio.Queue[Press | Change] = asyncio.Queue()
        self._pedals: dict[int, Recogniser] = {}
        self._ahead = 0.0  # our clock less the board's, in seconds
        self._waits: dict[int, asyncio.Task[None]] = {}
        self._end: Callable[[], None] | None = None
        self._search: asyncio.Task[None] | None = None

    async def open(self) -> str:
        """Greets the board. Raises BoardError."""
        drive = await self._client.ready()
        if self._end is None:
            self._end = self._client.listen(self._hear)
        return f"{drive.pedals} pedals at the {drive.name}"

    async def next(self) -> Press | Change:
        """The next thing that happened, in order."""
        return await self._queue.get()

    async def close(self) -> None:
        if self._end is not None:
            self._end()
            self._end = None
        waits = [*self._waits.values(), *([self._search] if self._search else [])]
        for wait in waits:
            wait.cancel()
        await asyncio.gather(*waits, return_exceptions=True)

    def _hear(self, event: Event | BoardError) -> None:
        match event:
            case PedalEdge():
                self._edge(event)
            case Stopped(by=by):
                self._change("stop", by)
            case FilmMoved(there=there):
                self._change("film in" if there else "film out")
            case Boot(why=why):
                self._change("restarted", why)
                self._look_for_it()
            case BoardError():
                self._change("gone", str(event))
                self._look_for_it()
            case Greeted():
                self._change("back")

    def _change(self, what: str, detail: str = "") -> None:
        self._queue.put_nowait(Change(SOURCE, what, detail))  # type: ignore[arg-type]  # the words of the port

    def _look_for_it(self) -> None:
        for pedal in self._pedals.values():
            pedal.reset()
        if self._search is None or self._search.done():
            self._search = asyncio.ensure_future(self._until_reached())

    async def _until_reached(self) -> None:
        while True:
            await self._clock.sleep(AGAIN_S)
            with suppress(BoardError):
                await self._client.reach()
                return

    def _edge(self, event: PedalEdge) -> None:
        at = event.ms / 1000
        self._ahead = self._clock.monotonic() - at
        pedal = self._pedals.setdefault(event.pedal, Recogniser(self._timing))
        self._found(event.pedal, pedal.edge(Edge(at, event.down)))

    def _found(self, number: int, found: tuple[Found, ...]) -> None:
        for one in found:
            self._queue.put_nowait(Press(f"{SOURCE} pedal {number}", one.gesture, one.at + self._ahead))
        if (wait := self._waits.pop(number, None)) is not None and wait is not asyncio.current_task():
            wait.cancel()
        again_at = self._pedals[number].again_at
        if again_at is not None:
            self._waits[number] = asyncio.ensure_future(self._look_again(number, again_at))

    async def _look_again(self, number: int, at: float) -> None:
        await self._clock.sleep(max(0.0, at + self._ahead - self._clock.monotonic()))
        now = max(at, self._clock.monotonic() - self._ahead)
        self._found(number, self._pedals[number].pass_time(now))
