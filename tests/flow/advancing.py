"""A rig with a film advancer: who pushes strips in and breaks things, and a witness of what really lay in the gate."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

from feeding import PATIENCE_S, Feeder
from msgspec import Struct
from rigs import daemon_on, nonce

from rigd.client import RemoteVerbs
from rigd.config import BoardSection, PressesSection
from rigd.model.events import AnyEvent, ExposureIntended, Troubled
from rigd.model.events_feed import FilmEnded, Moved
from rigd.model.words import BaseType, Colour, Film, Tone
from rigd_sim.control import Hand

if TYPE_CHECKING:
    from conftest import Advancer, Simulated

SENSOR_MM = 50.0
TOLERANCE_MM, HALF_GAP_MM = 0.2, 3.0
PUSHED_MM = 6.0
"""So far beyond the film sensor a hand pushes a strip."""


class Lay(Struct, frozen=True):
    """What really lay in the gate when an exposure was about to be made: strip and place of the film, how far the
    frame's middle was from the gate's, and whether film was moving."""

    frame_id: str
    strip: int
    place: int
    off_mm: float
    moving: bool


class Witness:
    """Asks the scene at every exposure of a frame. The film rests then, so that the answer need not come at once."""

    def __init__(self, hand: Hand) -> None:
        self._hand = hand
        self.lays: list[Lay] = []

    async def note(self, frame_id: str) -> None:
        film = await self._hand.acall("film")
        at = film["position_mm"]
        frame = min(film["frames"], key=lambda one: abs(one["centre_mm"] - at))
        off = at - frame["centre_mm"]
        self.lays.append(Lay(frame_id, frame["strip"], frame["place"], off, film["moving"]))


class Advancing(Feeder):
    """`board` is the hand at the advancer; `witness` what lay in the gate."""

    board: Hand
    witness: Witness
    heard: list[AnyEvent]
    told: asyncio.Queue[AnyEvent]

    async def push_in(self, strip: int) -> None:
        """A hand pushes a strip in until the film sensor has it."""
        await self.hand.acall("lay", strip=None)
        await self.board_sees(False)
        await self.hand.acall("lay", strip=strip, at_mm=PUSHED_MM - SENSOR_MM, seconds=0.3)

    async def into_gate(self, strip: int) -> None:
        """A hand lays the strip's first frame into the gate, a little off."""
        await self.hand.acall("lay", strip=strip)
        await self.hand.acall("slide", frame=1, off_mm=0.8, seconds=0.0)
        await self.board_sees(True)

    async def board_sees(self, film: bool) -> None:
        async with asyncio.timeout(PATIENCE_S):
            while bool((await self.board.acall("look"))["covered"]) is not film:  # noqa: ASYNC110 - another process
                await asyncio.sleep(0.02)

    async def at_rest(self) -> None:
        """Until nothing moves the film and the engine waits."""
        await self.daemon.desk.engine().until_idle()
        await self.hand.acall("still", within_um=50.0)

    async def ends(self) -> FilmEnded:
        """The strip's end; a call for somebody before it is told as what it is."""
        event = await self.hear(FilmEnded, Troubled)
        assert isinstance(event, FilmEnded), event
        return event

    async def board_answers(self) -> None:
        """Until the daemon has the board's ear again."""
        await self.see(lambda vitals: vitals.board_ok)

    async def moving(self) -> None:
        """Until the motor has turned for a while since now."""
        begun = (await self.board.acall("look"))["steps"]
        async with asyncio.timeout(PATIENCE_S):
            while (await self.board.acall("look"))["steps"] < begun + 400:  # noqa: ASYNC110 - another process
                await asyncio.sleep(0.01)

    async def press(self, pedal: int = 1, seconds: float = 0.06, times: int = 1) -> None:
        """A foot on one of the board's pedals, for so long and so often, and off it again for a while."""
        for _ in range(times):
            for down, held in ((True, seconds), (False, 0.06)):
                await self.board.acall("pin", name=f"pedal{pedal}", on=down)
                await asyncio.sleep(held)

    async def trigger(self) -> None:
        await self.verbs.trigger(nonce=nonce())

    def moves(self) -> list[Moved]:
        return [event for event in self.heard if isinstance(event, Moved)]

    def all_true(self, tolerance_mm: float = TOLERANCE_MM) -> None:
        """Each frame that counts was itself under the lens at every exposure, within the tolerance, and at rest. A
        blank shows no edges: it lies where the gaps are even, to half a gap."""
        lays = self.witness.lays
        assert lays
        for lay in lays:
            frame = self.roll.frames[lay.frame_id]
            strip = self.roll.strips[frame.frame.strip_id]
            assert (lay.strip, lay.place) == (strip.number, frame.frame.place), lays
            assert not lay.moving, lay
            assert abs(lay.off_mm) <= (tolerance_mm if frame.film is Film.PICTURE else HALF_GAP_MM), lay
        assert len({(lay.strip, lay.place) for lay in lays}) == len({lay.frame_id for lay in lays})


async def _watch(rig: Advancing, remember: bool) -> None:
    listener = rig.daemon.desk.hub.subscribe(4096)
    try:
        async for item in listener:
            event = getattr(item, "event", None)
            if event is None:
                continue
            if remember:
                rig.heard.append(event)
            else:
                rig.told.put_nowait(event)
            if isinstance(event, ExposureIntended) and event.frame_id:
                await rig.witness.note(event.frame_id)
    finally:
        rig.daemon.desk.hub.leave(listener)


@contextlib.asynccontextmanager
async def advancing(
    root: Path, simulated: Simulated, advancer: Advancer, fresh: bool = True, places: int | None = 4,
    expected: tuple[int, int] | None = (12, 12), pedal: PressesSection | None = None, remember: bool = True,
) -> AsyncIterator[Advancing]:
    """A daemon on a rig with an advancer; `fresh`: with an open roll and no film; `remember`: all that was heard, else
    it is `told` once."""
    if fresh:
        await simulated.hand.acall("lay", strip=None)
    section = BoardSection(address=advancer.port, pedal_1=pedal or PressesSection())
    async with daemon_on(root, simulated.camera, board=section) as (daemon, verbs):
        listener = daemon.desk.hub.subscribe(4096)
        rig = Advancing(daemon, verbs, simulated.hand, listener)
        rig.board, rig.witness = advancer.hand, Witness(simulated.hand)
        rig.heard, rig.told = [], asyncio.Queue()
        watching = asyncio.create_task(_watch(rig, remember), name="witness")
        try:
            if fresh:
                await open_roll(verbs, places, expected)
            yield rig
        finally:
            watching.cancel()
            await asyncio.gather(watching, return_exceptions=True)
            await rig.close()
            daemon.desk.hub.leave(listener)


async def open_roll(verbs: RemoteVerbs, places: int | None, expected: tuple[int, int] | None) -> None:
    """A job with one roll, open, nothing in the gate."""
    await verbs.open_job(title="Port of Vessling", default_base=BaseType.SAFETY)
    await verbs.plan_roll(
        label="HO 12", film_format_name="120-6x6", tone=Tone.NEGATIVE, colour=Colour.MONO, expected=expected,
        strip_places=places, base_type=None, stock="", process="", where="",
    )  # fmt: skip
    await verbs.open_roll(roll_id="HO 12")
