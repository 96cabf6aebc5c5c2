"""A job's folder opened for work: ledger and store, and the engine with its camera where one is asked for."""

from __future__ import annotations

import asyncio
import contextlib
import gc
from collections.abc import AsyncIterator, Coroutine
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from rigd.app.machine import Machine
from rigd.app.sounds import Sounds
from rigd.app.survey import camera_config, camera_home, survey_report
from rigd.config import Settings
from rigd.drivers.camera import CameraClient
from rigd.drivers.clock import RealClock
from rigd.engine.accounts import Accounts
from rigd.engine.aftercare import Aftercare
from rigd.engine.policy import Limits
from rigd.engine.rig import Rig, Stilling
from rigd.engine.runner import Runner
from rigd.errors import DiskFull, NotReady, RigdError
from rigd.hub import Hub
from rigd.imaging import Limits as Metering
from rigd.ledger import Ledger
from rigd.model.values import Exposing
from rigd.model.words import Aim, Mains, Second
from rigd.operations.desk import Desk
from rigd.paths import ledger_file
from rigd.store import Store
from rigd.store.papers import JOB

_ROOM_S = 2.0


@contextlib.asynccontextmanager
async def open_desk(root: Path, settings: Settings, camera: bool = False) -> AsyncIterator[Desk]:
    """Open the job in `root` (made if missing), alone.

    Raises:
        LedgerHeld: another rigd has it. NotReady: its ledger is lost. UnfitDisk, LedgerTooNew, LedgerDamaged: as told.
    """
    require_no_lost_ledger(root)
    clock = RealClock()
    ledger = await Ledger.open(root, clock.now)
    desk: Desk | None = None
    try:
        hub, store = Hub(ledger), Store(root)
        desk = Desk(hub, store, clock)
        await asyncio.to_thread(store.quarantine, _known_parts(hub))
        # The fold of a long job is a million objects that never go: the collector need not look at them again.
        gc.freeze()
        if not camera:
            async with _papers_after(desk):
                yield desk
            return
        with contextlib.suppress(DiskFull):  # the trigger refuses on a full disk, with its own word
            await asyncio.to_thread(store.ballast.reserve)
        async with _engine(desk, settings):
            yield desk
    finally:
        if desk is not None:
            await desk.handover.close()
        await ledger.close()


def require_no_lost_ledger(root: Path) -> None:
    """A folder that says it holds a job, and has no ledger: a new one beside it would begin the job anew. Raises
    NotReady."""
    if (root / JOB).exists() and not ledger_file(root).exists():
        raise NotReady(
            f"The ledger of the job in {root.resolve()} is lost.", "The folders of its rolls say what was taken.",
            "Build it anew from them: rigd rebuild.",
        )  # fmt: skip


@contextlib.asynccontextmanager
async def _papers_after(desk: Desk) -> AsyncIterator[None]:
    """What one command changed is in the folders when it has ended; where that cannot be written, the daemon does it
    when it looks at the rolls in hand."""
    listener = desk.hub.subscribe()
    try:
        yield
    finally:
        listener.end()
        with contextlib.suppress(RigdError):
            await desk.papers.catch_up_after(listener)


@contextlib.asynccontextmanager
async def _engine(desk: Desk, settings: Settings) -> AsyncIterator[None]:
    client = CameraClient(camera_config(settings), camera_home(settings), on_lost=lambda _: desk.engine().lost())
    rig = _rig(desk, settings, client)
    desk.runner = Runner(rig)
    machine = Machine(desk, settings)
    desk.survey = lambda: survey_report(client, desk.root, machine.lines)
    desk.aftercare = Aftercare(rig, lambda: not desk.engine().busy)
    care = (desk.aftercare.run(), desk.papers.run(), desk.copying.run(), Accounts(desk.hub).run())
    try:
        async with _beside(desk.runner.run(), desk.runner.live.run(), desk.runner.watch.run(), *care,
                           _watch_room(desk), machine.run(), Sounds(desk.hub, settings).run()):  # fmt: skip
            yield
    finally:
        desk.hub.close()
        await machine.close()
        await client.close()
        with contextlib.suppress(RigdError):
            await desk.papers.catch_up()


def _rig(desk: Desk, settings: Settings, client: CameraClient) -> Rig:
    section = settings.exposure
    return Rig(
        camera=client,
        card=client,
        live=client,
        clock=desk.clock,
        hub=desk.hub,
        store=desk.store,
        limits=Limits(section.max_takes, section.shortest_s, section.longest_s),
        exposing=Exposing(Aim(section.aim), Mains(section.mains), Second(section.second)),
        metering=Metering(high=section.too_high_stops, low=section.too_low_stops),
        first_s=section.first_s,
        settle_s=settings.settle.delay_s,
        stilling=Stilling(**settings.settle.model_dump(exclude={"delay_s"})),
        f_number=settings.camera.f_number,
        iso=settings.camera.iso,
    )


@contextlib.asynccontextmanager
async def _beside(*work: Coroutine[Any, Any, None]) -> AsyncIterator[None]:
    """Run the coroutines beside the block and cancel them at its end; if one fails, the block is cancelled."""
    async with asyncio.TaskGroup() as group:
        tasks = [group.create_task(one, name=getattr(one, "__name__", "beside")) for one in work]
        try:
            yield
        finally:
            for task in tasks:
                task.cancel()


async def _watch_room(desk: Desk) -> None:
    """Keep the vitals' free space up to date, a few seconds old at most: others write on the disk too."""
    while True:
        await _tell_room(desk)
        await desk.clock.sleep(_ROOM_S)


async def _tell_room(desk: Desk) -> None:
    room = await asyncio.to_thread(desk.store.room)
    body = desk.runner.rig.body if desk.runner else None
    card = body.card_free_bytes if body else None
    desk.hub.notice(replace(
        desk.hub.vitals, frames_left=room.frames_left, free_bytes=room.free_bytes, card_free_bytes=card,
        card_frames_left=None if card is None else card // max(1, room.frame_bytes),
    ))  # fmt: skip


def _known_parts(hub: Hub) -> set[str]:
    """Temporary files that an unfinished take may still need: fetching goes over them again."""
    return {hub.state.working} if hub.state.working else set()
