"""How a command reaches a job: through the daemon that has it open, or by opening it in this process."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

from rigd.app.desks import open_desk, require_no_lost_ledger
from rigd.client import RemoteVerbs, remote_verbs
from rigd.config import Settings
from rigd.drivers.clock import RealClock
from rigd.errors import LedgerHeld, NotReady, RigdError
from rigd.ledger import read_run_file
from rigd.operations.finding_jobs import remember
from rigd.operations.rebuilding import RebuiltLedger, rebuild
from rigd.operations.verbs import LocalVerbs, Verbs
from rigd.paths import ledger_file


@contextlib.asynccontextmanager
async def reach(root: Path, settings: Settings, camera: bool = False, new: bool = False) -> AsyncIterator[Verbs]:
    """The verbs for the job in `root`.

    Args:
        camera: the verb needs the camera; without a daemon it is connected here for the one command.
        new: the verb may begin a job in a folder that holds none.

    Raises:
        NotReady: the folder holds no job. LedgerHeld: somebody has it who cannot be asked.
    """
    run = read_run_file(root)
    if run is not None:
        async with remote_verbs(run.url, run.token) as verbs:
            yield verbs
        return
    require_no_lost_ledger(root)
    if not new and not ledger_file(root).exists():
        raise NotReady(
            f"There is no job in {root.resolve()}.",
            "It holds no ledger.",
            "Name the job's folder with --job, or begin one: rigd job open TITLE.",
        )
    async with _opened(root, settings, camera) as verbs:
        yield verbs


async def rebuilt(root: Path, replace_ledger: bool) -> RebuiltLedger:
    """The ledger of the job in `root`, built anew from its folders. Raises as the operation does."""
    return await rebuild(root, RealClock(), replace_ledger)


@contextlib.asynccontextmanager
async def reach_daemon(root: Path) -> AsyncIterator[RemoteVerbs]:
    """The running daemon that has the job in `root`. Raises NotReady if there is none."""
    run = read_run_file(root)
    if run is None:
        raise NotReady(
            "No daemon is running on this job.", "What was asked for is its business alone.", "Start it: rigd run.",
        )  # fmt: skip
    async with remote_verbs(run.url, run.token) as verbs:
        yield verbs


@contextlib.asynccontextmanager
async def _opened(root: Path, settings: Settings, camera: bool) -> AsyncIterator[Verbs]:
    try:
        async with open_desk(root, settings, camera) as desk:
            if desk.runner is not None:
                await desk.runner.until_idle()
            yield LocalVerbs(desk)
            with contextlib.suppress(OSError, RigdError):  # the list of jobs is a help, and no part of the job
                await remember(desk)
    except LedgerHeld as held:
        raise LedgerHeld(
            held.what, held.why, held.remedy or "Wait until it has ended, or end it, then try again."
        ) from held
