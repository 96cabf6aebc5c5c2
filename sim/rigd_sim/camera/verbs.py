"""Everything the control socket of the simulated camera can do."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from typing import Protocol

from rigd_sim.camera.body import Body
from rigd_sim.camera.card import Card, NoSuchObject
from rigd_sim.camera.codes import Prop, Response
from rigd_sim.camera.faults import Fault
from rigd_sim.camera.responder import Responder
from rigd_sim.camera.shutter import State
from rigd_sim.control.server import Verb

LOOK = 0.02  # s between looks while waiting for something


class Stage(Protocol):
    """What a hand can do to the scene; see rigd_sim.scene.Scene."""

    @property
    def lay(self) -> Callable[..., object]: ...
    @property
    def slide(self) -> Callable[..., object]: ...
    @property
    def kick(self) -> Callable[..., object]: ...
    @property
    def cover(self) -> Callable[..., object]: ...
    @property
    def lamp(self) -> Callable[..., object]: ...
    @property
    def prepare(self) -> Callable[..., object]: ...
    @property
    def truth(self) -> Callable[..., dict[str, object]]: ...


def scene_verbs(stage: Stage) -> dict[str, Verb]:
    """Hands on the film and on the table. They run in threads: laying film may have to draw it first."""

    def threaded(function: Callable[..., object]) -> Verb:
        return lambda **args: asyncio.to_thread(function, **args)

    verbs = {name: threaded(getattr(stage, name)) for name in ("lay", "slide", "kick", "cover", "lamp", "prepare")}
    return verbs | {"still": lambda **args: _still(stage, **args)}


async def _still(stage: Stage, within_um: float = 1.0, timeout: float = 30.0) -> float:  # noqa: ASYNC109
    """Wait until no film moves and the vibration's envelope is small; the seconds that took. Raises TimeoutError."""

    def still() -> bool:
        truth = stage.truth()
        return not truth["moving"] and float(str(truth["envelope_um"])) <= within_um

    return await _until(still, timeout)


async def _until(condition: Callable[[], bool], timeout: float) -> float:  # noqa: ASYNC109
    """Look until it holds; the seconds that took. Raises TimeoutError."""
    loop = asyncio.get_running_loop()
    start = loop.time()
    async with asyncio.timeout(timeout):
        while not condition():  # noqa: ASYNC110 - what is waited for is a function of time alone
            await asyncio.sleep(LOOK)
    return loop.time() - start


class CameraVerbs:
    """Hands on the body, and the faults."""

    def __init__(self, body: Body, responder: Responder, ports: tuple[str, int, int], stop: asyncio.Event) -> None:
        self._body, self._responder, self._ports, self._stop = body, responder, ports, stop

    def table(self) -> dict[str, Verb]:
        return {
            "fault": self._fault,
            "clear": self._clear,
            "faults": lambda: [asdict(fault) for fault in self._body.faults.waiting()],
            "wirelog": lambda since=0: self._body.log.since(since),
            "power": self._power,
            "turn": self._turn,
            "press": self._press,
            "taken": self._taken,
            "idle": self._idle,
            "change_card": self._body.change_card,
            "clock": self._clock,
            "quit": self._stop.set,
        }

    async def _fault(self, kind: str, at: str, **fields: object) -> int:
        """Arm a fault, or with at="now" let it happen. Returns its number (0: happened). Raises BadFault."""
        fault = Fault(kind, at, **fields)  # type: ignore[arg-type]  # checked below, values come from JSON
        fault.check()
        if fault.at != "now":
            return self._body.faults.add(fault)
        if fault.kind == "drop":
            await self._responder.drop()
        else:
            self._body.freeze.begin(fault.seconds)
        return 0

    def _clear(self, number: int | None = None) -> None:
        """Disarm one fault or all; every stall and freeze ends."""
        self._body.faults.clear(number)
        self._body.stalls.release()
        self._body.freeze.end()

    async def _power(self, on: bool) -> None:
        """The switch. Off: connections end and new ones are refused; the card keeps its pictures."""
        await self._responder.close()
        if on:
            self._responder.open(*self._ports)

    def _turn(self, setting: str, value: int | str) -> None:
        """A dial, the battery, the lens: set the property of this name (Prop, lower case) on the body itself."""
        self._body.turn(Prop[setting.upper()], value)

    def _press(self) -> str:
        """The shutter button on the body. Returns the name of the response it would have over the wire."""
        return Response(self._body.press()).name

    async def _taken(self, count: int, timeout: float = 30.0) -> float:  # noqa: ASYNC109
        """Wait until so many pictures lie on the card; the seconds that took. Raises TimeoutError."""
        return await _until(lambda: len(self._body.card.pictures()) >= count, timeout)

    async def _idle(self, timeout: float = 60.0) -> float:  # noqa: ASYNC109
        """Wait until no shot is under way; the seconds that took. Raises TimeoutError."""
        return await _until(lambda: self._body.shutter.state is State.IDLE, timeout)

    def _clock(self, offset: float) -> None:
        """Set the body's clock to the host's plus so many seconds."""
        self._body.calendar.shift(offset)


def truth_verbs(stage: Stage, body: Body) -> dict[str, Verb]:
    """For tests alone: `film`, what the scene knows; `truth`, that and under "camera" what the body knows."""

    def truth() -> dict[str, object]:
        return stage.truth() | {"camera": camera_truth(body)}

    return {"film": lambda: asyncio.to_thread(stage.truth), "truth": lambda: asyncio.to_thread(truth)}


def camera_truth(body: Body) -> dict[str, object]:
    """The body's state, and each picture on the card with the hash of its bytes. Blocking: hashing takes a while."""
    pictures: list[dict[str, object]] = []
    for handle in body.card.pictures():
        with suppress(NoSuchObject):  # deleted while we look
            pictures.append(_picture_truth(body.card, handle))
    return {"state": body.shutter.state.value, "pictures": pictures, "free": body.card.free}


def _picture_truth(card: Card, handle: int) -> dict[str, object]:
    info = card.info(handle)
    return {"handle": handle, "name": info.name, "size": info.size, "sha256": card.sha256(handle)}
