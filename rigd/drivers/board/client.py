"""The board as the engine sees it: ports Advancer and Lamp, and a feed of what it tells unasked."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from typing import Any, Literal

from msgspec import Struct

from rigd.drivers.board.link import Link
from rigd.drivers.board.refusals import check_rest, error_of, restarted
from rigd.drivers.board.watch import MotionWatch
from rigd.drivers.board.words import Answer, Boot, Event, Greeted, Rest
from rigd.errors import BoardError, BoardLost, InputError, NotReady
from rigd.ports import Clock, Drive, Place, Shine

CHANNELS = {"white": 0, "red": 1, "green": 2, "blue": 3}
_NAMES = {"w": "white", "r": "red", "g": "green", "b": "blue"}

Listener = Callable[[Event | BoardError], None]


class Known(Struct, frozen=True):
    """What the board said about itself when it was greeted."""

    boot: int
    gear: int
    silence_s: float
    drive: Drive


class BoardClient:
    """One board at a serial port or URL (`/dev/serial/by-id/...`, `socket://host:port`, `rfc2217://host:port`).

    `ready` comes first (NotReady), and again after BoardLost: nothing moves before. Motions run one at a time: Busy
    for a second one.
    """

    def __init__(self, url: str, clock: Clock) -> None:
        self._clock = clock
        self.link = Link(url, clock, self._told, self._lost)
        self._watch = MotionWatch()
        self._known: Known | None = None
        self._rest_steps = 0.0
        self._listeners: list[Listener] = []
        self._gone: BoardError | None = None
        self._reaching = asyncio.Lock()

    async def ready(self) -> Drive:
        """Open and greet the board, also after a loss. Moves nothing. Raises BoardMissing, BoardLost."""
        drive = await self.reach()
        self._gone = None
        return drive

    async def reach(self) -> Drive:
        """As `ready`, but what moves film stays shut after a loss: somebody has yet to look where the film is."""
        async with self._reaching:
            if not self.link.up or self._known is None:
                self._known = None
                hello = await (self.link.greet() if self.link.up else self.link.open())
                self._known = await self._learn(hello)
                self._told(Greeted())
            return self._known.drive

    async def advance(self, mm: float) -> Place:
        """Move by `mm`; the part of a step that is left over is carried into the next advance.

        Raises:
            MotionStopped, FilmStuck, BoardRefused, BoardLost, Busy.
        """
        known = self._must_know(moving=True)
        wanted = mm * known.gear / 1000 + self._rest_steps
        steps = round(wanted)
        if steps == 0:
            self._rest_steps = wanted
            return await self.place()
        place = await self._move(f"MOVE {steps}", known)
        self._rest_steps = wanted - steps
        return place

    async def seek(self, what: Literal["film", "clear"], mm: float) -> Place:
        """Creep at most `mm`; `edge_mm` of the result is where the film's end passed. It rests a little further on."""
        known = self._must_know(moving=True)
        self._rest_steps = 0.0
        return await self._move(f"SEEK {what} {round(mm * known.gear / 1000)}", known)

    async def place(self, declare_mm: float | None = None) -> Place:
        """Where the film is; with `declare_mm`, that is from now on what this place is called, and it is sure."""
        known = self._must_know()
        if declare_mm is not None:
            await self._ask(f"PLACE {round(declare_mm * known.gear / 1000)}")
            self._rest_steps = 0.0
        return self._place(await self._ask("ASK"), known)

    async def stop(self) -> None:
        """Emergency: motor and lamp off at once, latched. Returns when the board has confirmed it. Raises BoardLost."""
        self.link.escape()
        while (await self._ask("ASK")).number_of("stop") != 1:
            self.link.escape()

    async def clear(self) -> Place:
        """Clear a latched stop, on purpose. Raises MotionStopped while the stop input is still pressed."""
        self._must_know()
        await self._ask("CLEAR")
        return await self.place()

    async def halt(self) -> None:
        """Let a motion slow down and end where it can; nothing is latched."""
        await self._ask("HALT")

    async def grip(self, on: bool) -> None:
        """Current in the motor, or none: then the film can be moved by hand, and its place is not sure any more."""
        await self._ask(f"GRIP {'on' if on else 'off'}")

    async def shine(self, level: float, colour: str = "white") -> Shine:
        """Set level (0 to 1) and colour; off at 0. Raises InputError for another colour or level."""
        if colour not in CHANNELS or not 0 <= level <= 1:
            raise InputError(
                f"The lamp cannot show {colour} at {level}.", "", f"Levels 0 to 1 of {', '.join(CHANNELS)}."
            )
        levels = [0, 0, 0, 0]
        levels[CHANNELS[colour]] = round(level * 255)
        return _shine(await self._ask("LAMP " + " ".join(map(str, levels))))

    async def shining(self) -> Shine:
        """What the lamp shows now."""
        return _shine(await self._ask("LAMP"))

    async def warmed(self) -> Shine:
        """Return when the lamp has been on for its warm-up time. Raises NotReady where it is off."""
        while (shine := await self.shining()).level > 0:
            if shine.warm_in_s <= 0:
                return shine
            await self._clock.sleep(shine.warm_in_s)
        raise NotReady("The lamp is off.", "It cannot warm up.", "Switch it on first.")

    async def setting(self, name: str, value: int | None = None) -> int:
        """Read a setting of the board, or keep it in its EEPROM (hardware/PROTOCOL.md, "Settings").

        Raises BoardRefused for a name it does not know or a value out of range.
        """
        answer = await self._ask(f"READ {name}" if value is None else f"KEEP {name} {value}")
        if value is not None and self._known is not None:
            self._known = await self._learn(await self._ask("HELLO"))
        return answer.number_of(name)

    def listen(self, listener: Listener) -> Callable[[], None]:
        """Call it with every event, and with the error when the board is lost; the result ends that."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    async def close(self) -> None:
        await self.link.close()
        self._known = None

    async def _learn(self, hello: Answer) -> Known:
        named = ("gear", "span", "top", "silence")
        gear, span, top, silence = [(await self._ask(f"READ {name}")).number_of(name) for name in named]
        drive = Drive(
            name="film advancer",
            version=hello.pairs.get("fw", ""),
            mm_per_step=1000 / gear,
            span_mm=span * 1000 / gear,
            top_mm_s=top * 1000 / gear,
            pedals=int(hello.pairs.get("pedals", "0")),
            colours=tuple(_NAMES[c] for c in hello.pairs.get("lamp", "") if c in _NAMES),
        )
        return Known(hello.number_of("boot"), gear, silence / 1000, drive)

    def _must_know(self, moving: bool = False) -> Known:
        if self._gone is not None and (moving or self._known is None):
            raise BoardLost(self._gone.what, self._gone.why, self._gone.remedy)
        if self._known is not None:
            return self._known
        raise NotReady("The film advancer has not been greeted.", "", "Connect it: press Recover.")

    async def _ask(self, words: str) -> Answer:
        reply = await self.link.ask(words)
        if isinstance(reply, Answer):
            return reply
        raise error_of(reply, words)

    async def _move(self, words: str, known: Known) -> Place:
        """One motion from its command to its rest. The board is spoken to often enough to know that we are there."""
        rest = self._watch.begin()
        try:
            await self._ask(words)
            while not rest.done():
                await self._rest_or(rest, known.silence_s / 3)
                if not rest.done():
                    self._watch.asked(await self._ask("ASK"), known.boot)
        except asyncio.CancelledError:
            with suppress(BoardLost):
                self.link.send_unheard("HALT")
            raise
        finally:
            self._watch.end()
        check_rest(rest.result())
        return self._place(await self._ask("ASK"), known, rest.result())

    async def _rest_or(self, rest: asyncio.Future[Rest], seconds: float) -> None:
        sleeper = asyncio.ensure_future(self._clock.sleep(seconds))
        both: list[asyncio.Future[Any]] = [rest, sleeper]
        try:
            await asyncio.wait(both, return_when=asyncio.FIRST_COMPLETED)
        finally:
            sleeper.cancel()

    def _place(self, told: Answer, known: Known, rest: Rest | None = None) -> Place:
        per_mm = known.gear / 1000
        edge = None if rest is None or rest.edge is None else rest.edge / per_mm
        flag = {name: told.number_of(name) == 1 for name in ("sure", "film", "stop")}
        why = told.pairs["why"] if rest is None else rest.why
        return Place(told.number_of("at") / per_mm, flag["sure"], flag["film"], flag["stop"], why, edge)

    def _told(self, event: Event) -> None:
        if isinstance(event, Boot) and self._known is not None and event.boot != self._known.boot:
            self._known, self._gone = None, restarted(event.why)
            self._watch.fail(self._gone)
        elif isinstance(event, Rest):
            self._watch.rested(event)
        for listener in list(self._listeners):
            listener(event)

    def _lost(self, error: BoardError) -> None:
        self._known, self._gone = None, error
        self._watch.fail(error)
        for listener in list(self._listeners):
            listener(error)


def _shine(told: Answer) -> Shine:
    levels = {_NAMES[name]: told.number_of(name) for name in _NAMES}
    colour = max(levels, key=lambda name: levels[name]) if any(levels.values()) else "white"
    return Shine(colour, levels[colour] / 255, told.number_of("warm") / 1000)
