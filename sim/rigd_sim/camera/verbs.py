"""Everything the control socket of the simulated camera can do."""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Callable
from dataclasses import asdict
from typing import Protocol

from rigd_sim.camera.body import Body
from rigd_sim.camera.codes import Prop, Response
from rigd_sim.camera.faults import Fault
from rigd_sim.camera.responder import Responder
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
    def lamp(self) -> Callable[..., object]: ...
    @property
    def prepare(self) -> Callable[..., object]: ...
    @property
    def truth(self) -> Callable[..., dict[str, object]]: ...


def scene_verbs(stage: Stage) -> dict[str, Verb]:
    """Hands on the film and on the table. They run in threads: laying film may have to draw it first."""

    def threaded(function: Callable[..., object]) -> Verb:
        return lambda **args: asyncio.to_thread(function, **args)

    verbs = {name: threaded(getattr(stage, name)) for name in ("lay", "slide", "kick", "lamp", "prepare")}
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

    def _clock(self, offset: float) -> None:
        """Set the body's clock to the host's plus so many seconds."""
        self._body.calendar.shift(offset)


def camera_truth(body: Body) -> dict[str, object]:
    """What the body knows: its state, and each picture on the card with the hash of its bytes."""
    pictures = []
    for handle in body.card.pictures():
        info = body.card.info(handle)
        digest = hashlib.sha256(body.card.data(handle)).hexdigest()
        pictures.append({"handle": handle, "name": info.name, "size": info.size, "sha256": digest})
    return {"state": body.shutter.state.value, "pictures": pictures, "free": body.card.free}
