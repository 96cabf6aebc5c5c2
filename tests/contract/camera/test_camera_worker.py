"""The worker process: killed, hung, orphaned; what it inherits and what it leaves open."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.contract.camera.kit import (
    FAST,
    INITIATE_CAPTURE,
    SLOW,
    Make,
    config_of,
    on_card,
    operations,
    runs,
    until,
)  # fmt: skip

from rigd.drivers.camera import CameraClient
from rigd.errors import CameraError, CameraLost
from rigd_sim.control.start import SimulatedCamera

HOUSE = Path(__file__).parents[3]
PROC = Path("/proc/self/fd")


async def _exposing(sim: SimulatedCamera, camera: CameraClient) -> asyncio.Task[object]:
    """A shot whose shutter is open."""
    await camera.apply(SLOW)
    since = time.monotonic()
    shot: asyncio.Task[object] = asyncio.create_task(camera.shoot())
    await until(lambda: bool(operations(sim, INITIATE_CAPTURE, since)))
    return shot


async def test_killed_while_exposing_the_shot_is_unknown_and_then_found_on_the_card(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path
) -> None:
    shot = await _exposing(sim, camera)
    first = camera.worker_pid
    os.kill(first or 0, signal.SIGKILL)
    with pytest.raises(CameraLost, match="SIGKILL"):
        await shot
    since = time.monotonic()
    await camera.recover()
    assert camera.worker_pid != first
    found = await camera.items()
    assert [file.name for file in found] == [on_card(sim)[0]["name"]]
    assert operations(sim, INITIATE_CAPTURE, since) == []
    assert await camera.fetch(found[0], tmp_path / "frame.part") == on_card(sim)[0]["size"]
    # It has found its owner, and is no stray of the next shot.
    await camera.apply(FAST)
    assert (await camera.shoot()).strays == ()


async def test_a_worker_that_hangs_is_killed_by_the_watchdog(sim: SimulatedCamera, make: Make) -> None:
    client = make(config_of(sim, answer_s=1.5, event_s=0.5, late_s=0.5))
    await client.connect()
    await client.apply(FAST)
    stopped = client.worker_pid
    os.kill(stopped or 0, signal.SIGSTOP)
    with pytest.raises(CameraLost, match="hung"):
        await client.shoot()
    assert not runs(stopped)
    await client.recover()
    assert (await client.shoot()).files


async def test_killed_while_idle_is_told_and_nothing_waits_for_the_next_call(sim: SimulatedCamera, make: Make) -> None:
    lost: list[CameraError] = []
    client = make(on_lost=lost.append)
    await client.connect()
    os.kill(client.worker_pid or 0, signal.SIGKILL)
    await until(lambda: bool(lost))
    with pytest.raises(CameraLost):
        await client.shoot()
    await client.recover()
    assert (await client.shoot()).files


async def test_ctrl_c_in_the_terminal_is_the_daemons_affair(camera: CameraClient) -> None:
    os.kill(camera.worker_pid or 0, signal.SIGINT)
    assert (await camera.shoot()).files


async def test_a_closed_client_has_ended_its_worker_and_removed_its_passing_home(sim: SimulatedCamera) -> None:
    client = CameraClient(config_of(sim))
    await client.connect()
    pid = client.worker_pid
    assert runs(pid)
    home = client._worker._home
    assert home is not None
    assert home.is_dir()
    await client.close()
    assert not runs(pid)
    assert not home.exists()


async def test_close_while_the_shutter_is_open_waits_for_it(sim: SimulatedCamera, camera: CameraClient) -> None:
    shot = await _exposing(sim, camera)
    pid = camera.worker_pid
    await camera.close()
    await asyncio.gather(shot, return_exceptions=True)
    assert shot.done()
    assert not runs(pid)


DAEMON = """
import asyncio, sys
from rigd.drivers.camera import CameraClient, CameraConfig

async def main():
    client = CameraClient(CameraConfig("ptpip:" + sys.argv[1]))
    await client.connect()
    print(client.worker_pid, flush=True)
    await asyncio.sleep(3600)

asyncio.run(main())
"""


async def test_the_worker_ends_with_a_daemon_that_is_killed(sim: SimulatedCamera, tmp_path: Path) -> None:
    environment = os.environ | {"PYTHONPATH": str(HOUSE), "TMPDIR": str(tmp_path)}
    with subprocess.Popen(  # noqa: ASYNC220 - a daemon that stands apart from this event loop
        [sys.executable, "-c", DAEMON, sim.address], stdout=subprocess.PIPE, env=environment, cwd=HOUSE
    ) as daemon:
        assert daemon.stdout is not None
        worker = int(daemon.stdout.readline())
        assert runs(worker)
        daemon.kill()
    await until(lambda: not runs(worker))


async def test_a_worker_whose_socket_closes_ends_by_itself(tmp_path: Path) -> None:
    """What ends it where the system has no death signal: the closing socket alone, with the parent alive."""
    ours, theirs = socket.socketpair()
    environment = os.environ | {"PYTHONPATH": str(HOUSE), "HOME": str(tmp_path)}
    words = [sys.executable, "-m", "rigd.drivers.camera.worker", str(theirs.fileno()), str(os.getpid())]
    with theirs:
        process = await asyncio.create_subprocess_exec(
            *words, pass_fds=[theirs.fileno()], env=environment, stdin=asyncio.subprocess.DEVNULL
        )
    ours.close()
    async with asyncio.timeout(10):
        assert await process.wait() == 0


async def test_the_workers_surroundings(sim: SimulatedCamera, camera: CameraClient) -> None:
    entries = Path(f"/proc/{camera.worker_pid}/environ")
    if not entries.exists():
        pytest.skip("no /proc here")
    variables = dict(entry.split("=", 1) for entry in entries.read_text().split("\0") if entry)
    assert variables["LC_ALL"] == "C"
    assert variables["TZ"] == "UTC"
    assert variables["HOME"] == variables["XDG_CONFIG_HOME"]
    assert Path(variables["HOME"]).is_dir()
    assert variables["HOME"] != os.environ.get("HOME")


@pytest.mark.skipif(not PROC.exists(), reason="no /proc here")
async def test_two_hundred_shots_leave_no_descriptor_open(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path
) -> None:
    def descriptors() -> dict[str, str]:
        found = {}
        for entry in Path(f"/proc/{camera.worker_pid}/fd").iterdir():
            try:
                found[entry.name] = str(entry.readlink())
            except FileNotFoundError:
                continue
        return found

    async def one(number: int) -> None:
        shot = await camera.shoot()
        await camera.fetch(shot.files[0], tmp_path / f"{number}.part")
        (tmp_path / f"{number}.part").unlink()
        await camera.remove(shot.files[0])

    await one(0)
    before = descriptors()
    assert before["0"] == os.devnull
    for number in range(1, 201):
        await one(number)
    assert descriptors() == before


@pytest.mark.skipif(not PROC.exists(), reason="no /proc here")
async def test_reconnecting_never_gives_descriptor_zero_away(sim: SimulatedCamera, camera: CameraClient) -> None:
    """The library closes descriptor 0 when it leaves a camera; the next file opened would take its place."""
    pid = camera.worker_pid
    for _ in range(5):
        await camera.recover()
        assert str(Path(f"/proc/{pid}/fd/0").readlink()) == os.devnull
    assert camera.worker_pid == pid
    assert len(list(Path(f"/proc/{pid}/fd").iterdir())) < 20
