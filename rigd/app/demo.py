"""The demo: a simulated rig, a simulated operator, and the real daemon between them, on one roll of film."""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from rigd.app.daemon import Daemon, running_daemon
from rigd.app.physics import Interval, Wire, overhead_pct
from rigd.app.physics_fed import StripTime, fed_overhead_pct, strip_times
from rigd.app.report import RollReport, roll_report
from rigd.app.simulators import SimulatedFilm, SimulatedRig, simulated_rig
from rigd.config import BoardSection, CameraSection, ServerSection, Settings, SettleSection
from rigd.errors import RigdError
from rigd.model.events import Committed
from rigd.model.words import BaseType, Colour, Tone
from rigd.operations import rolls
from rigd_sim.control import Hand

_ROLL = "HO 1957-031"
_JOB = "Port of Vessling, harbour office: survey negatives"


@dataclass(frozen=True)
class DemoPlan:
    """What the demo does. `port` 0: any free one; `kick_at` 0: nobody kicks the table. `feed`: "button", the operator
    presses for each frame; "hand", the rig triggers by itself; "board", a film advancer moves the film, too."""

    into: Path
    film: SimulatedFilm = field(default_factory=SimulatedFilm)
    port: int = 0
    settle_s: float = 0.5
    slide_s: float = 1.5
    strip_s: float = 4.0
    kick_at: int = 9
    feed: str = "button"


@dataclass(frozen=True)
class Showing:
    """A demo that is set up: the daemon is running, the film is ready, nothing has been taken yet."""

    daemon: Daemon
    rig: SimulatedRig
    plan: DemoPlan

    async def digitise(self) -> RollReport:
        """Let the simulated operator digitise the roll; the report when it is through.

        Raises:
            RigdError: the operator gave up.
        """
        await _operator(self)
        desk = self.daemon.desk
        await desk.engine().until_idle()
        assert desk.aftercare is not None
        await desk.aftercare.catch_up()
        desk.papers.doubt_all()
        await desk.papers.catch_up()
        return await self._report()

    async def strips(self) -> list[StripTime]:
        """How long each strip took that the advancer fed, and what of that was physics; after it was digitised."""
        events, wire, motions = await self._observed()
        return await asyncio.to_thread(
            strip_times, events, wire, self.daemon.desk.root, motions, self.plan.settle_s
        )

    async def _report(self) -> RollReport:
        desk = self.daemon.desk
        events, wire, motions = await self._observed()
        if motions:
            share = fed_overhead_pct(await self.strips())
        else:
            share = await asyncio.to_thread(overhead_pct, events, wire, desk.root)
        return roll_report(desk.state, events, share, desk.root)

    async def _observed(self) -> tuple[Sequence[Committed], Wire, list[Interval]]:
        """The ledger, the wire log, and when the motor turned."""
        events = await self.daemon.desk.hub.ledger.read()
        with Hand(self.rig.control) as hand:
            wire = await asyncio.to_thread(hand.wirelog)
        return events, wire, await asyncio.to_thread(_motions, self.rig)


@contextlib.asynccontextmanager
async def showing(plan: DemoPlan) -> AsyncIterator[Showing]:
    """Start the simulated rig and the daemon on it, plan the roll, and hold it all until the block ends."""
    simulated = simulated_rig(plan.film, advancer=plan.feed == "board")
    async with simulated as rig, running_daemon(plan.into, _settings(plan, rig), known=False) as daemon:
        await _paper_work(daemon, plan)
        yield Showing(daemon, rig, plan)


def _settings(plan: DemoPlan, rig: SimulatedRig) -> Settings:
    return Settings(
        camera=CameraSection(address=rig.camera),
        server=ServerSection(port=plan.port),
        board=BoardSection(address=str(rig.board) if rig.board else ""),
        settle=SettleSection(delay_s=plan.settle_s),
    )


async def _paper_work(daemon: Daemon, plan: DemoPlan) -> None:
    desk, film = daemon.desk, plan.film
    await desk.engine().until_idle()
    await rolls.open_job(desk, title=_JOB, default_base=BaseType.SAFETY)
    await rolls.describe_setup(desk, holder="simulated holder", lens="simulated macro lens", lamp="simulated panel")
    roll = await rolls.plan_roll(
        desk,
        label=_ROLL,
        film_format_name=film.film_format,
        tone=Tone(film.tone),
        colour=Colour(film.colour),
        expected=(film.frames, film.frames),
        strip_places=film.strip,
        where="cabinet 4, drawer 2",
    )
    await rolls.open_roll(desk, roll_id=roll.roll_id)


def _motions(rig: SimulatedRig) -> list[Interval]:
    """From when to when the advancer's motor turned, by its own log."""
    if rig.board_control is None:
        return []
    with Hand(rig.board_control) as board:
        return [(motion[0], motion[1]) for motion in board.call("motions") if len(motion) == 2]


async def _operator(showing: Showing) -> None:
    plan = showing.plan
    words = {
        "--control": showing.rig.control,
        "--url": showing.daemon.url,
        "--frames": plan.film.frames,
        "--strip": plan.film.strip,
        "--slide-seconds": plan.slide_s,
        "--strip-seconds": plan.strip_s,
        "--kick-at": plan.kick_at,
        "--feed": plan.feed,
    }
    arguments = [str(word) for pair in words.items() for word in pair]
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "rigd_sim.hand", *arguments,
        env={**os.environ, "RIGD_TOKEN": showing.daemon.token}, stderr=asyncio.subprocess.PIPE,
    )  # fmt: skip
    try:
        _, said = await process.communicate()
    except asyncio.CancelledError:
        process.kill()
        await process.communicate()
        raise
    if process.returncode:
        raise RigdError("The simulated operator gave up.", said.decode().strip(), "Look at the page: what is amiss?")
