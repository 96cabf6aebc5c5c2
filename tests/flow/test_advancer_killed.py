"""kill -9 of the daemon while the motor moves film: the board stops by itself, the next start goes on, none is lost.

Judged and not advanced: the board is asked where it is before anything moves; where it does not know, the film is
looked at.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from advancing import PATIENCE_S, advancing, open_roll
from rigs import nonce

from conftest import environment
from rigd.client import RemoteVerbs, remote_verbs
from rigd.ledger import read_run_file
from rigd.model.events_feed import FilmEnded

if TYPE_CHECKING:
    from conftest import Advancer, Simulated


@contextlib.asynccontextmanager
async def daemon_process(
    root: Path, simulated: Simulated, advancer: Advancer
) -> AsyncIterator[tuple[asyncio.subprocess.Process, RemoteVerbs]]:
    """`rigd run` as it is started by hand, and the verbs to it; killed with the block."""
    config = root.parent / "rigd.toml"
    config.write_text(
        f'[camera]\naddress = "{simulated.camera}"\n[board]\naddress = "{advancer.port}"\n'
        "[settle]\ndelay_s = 0.05\n[server]\nport = 0\n", "utf-8",
    )  # fmt: skip
    command = [sys.executable, "-m", "rigd", "run", "--job", str(root), "--config", str(config)]
    process = await asyncio.create_subprocess_exec(
        *command, env={**os.environ, **environment()}, stdout=asyncio.subprocess.PIPE
    )
    assert process.stdout is not None
    try:
        async with asyncio.timeout(PATIENCE_S):
            while b"Open the page" not in await process.stdout.readline():
                pass
        run = read_run_file(root)
        assert run is not None
        async with remote_verbs(run.url, run.token) as verbs:
            yield process, verbs
    finally:
        with contextlib.suppress(ProcessLookupError):
            process.send_signal(signal.SIGKILL)
        await process.wait()
        await process.stdout.read()


async def _steps(advancer: Advancer) -> int:
    return int((await advancer.hand.acall("look"))["steps"])


async def _second_move(verbs: RemoteVerbs, advancer: Advancer) -> None:
    """Until the first frame is judged and the motor is on its way to the second."""
    async with asyncio.timeout(PATIENCE_S):
        while (state := (await verbs.status()).state).roll is None or not state.roll.takes or state.moving is None:
            pass
        begun = await _steps(advancer)
        while await _steps(advancer) < begun + 400:
            pass


@pytest.mark.parametrize("board_too", [False, True], ids=["daemon", "daemon and board"])
async def test_killed_in_mid_move(
    board_too: bool, simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    root = tmp_path / "job"
    root.mkdir()
    await simulated.hand.acall("slide", frame=1, off_mm=0.8, seconds=0.0)
    async with daemon_process(root, simulated, advancer) as (process, verbs):
        async with asyncio.timeout(PATIENCE_S):
            while not ((told := (await verbs.status()).vitals).board_ok and told.camera_ok and told.phase == "idle"):
                pass
        await open_roll(verbs, 4, (12, 12))
        await verbs.trigger(nonce=nonce())
        await _second_move(verbs, advancer)
        process.send_signal(signal.SIGKILL)
        await process.wait()
    # A silent host: the firmware lets the motor come to rest (PROTOCOL.md: 1.4 s at the latest).
    await simulated.hand.acall("still", within_um=50.0)
    steps = await _steps(advancer)
    if board_too:
        await advancer.hand.acall("reset", why="power")
    async with advancing(root, simulated, advancer, fresh=False) as rig:
        await rig.board_answers()
        assert await _steps(advancer) == steps, "nothing moves with the start alone"
        assert rig.places() == [(1, 1)]
        await rig.trigger()
        await rig.hear(FilmEnded)
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        assert all(len(frame.keeper) == 1 for frame in rig.frames)
        assert {(lay.strip, lay.place) for lay in rig.witness.lays} == {(1, 2), (1, 3), (1, 4)}
        rig.all_true()
