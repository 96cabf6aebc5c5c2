"""The simulated board moves the film that the simulated camera sees. In real time, once."""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import sys
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.contract.board.bed import HOME

from rigd.drivers.board import BoardClient
from rigd.drivers.clock import RealClock
from rigd.errors import MotionStopped
from rigd_sim.control.start import SimulatedCamera, simulated_camera

PATIENCE_S = 20.0


@contextmanager
def board_at(camera: SimulatedCamera, folder: Path) -> Iterator[str]:
    """Where the port of a board is that moves this camera's film."""
    pty = folder / "board"
    arguments = ["--pty", str(pty), "--scene", str(camera.control), "--until-stdin-closes"]
    process = subprocess.Popen(
        [sys.executable, "-m", "rigd_sim", "board", *arguments],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=os.environ | {"PYTHONPATH": str(HOME / "sim")},
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        assert json.loads(process.stdout.readline())["ready"]
        yield str(pty)
    finally:
        process.stdin.close()
        code = process.wait(10)
        process.stdout.close()
    assert code == 0


@pytest.fixture
def camera() -> Iterator[SimulatedCamera]:
    with simulated_camera("--megapixels", "2", "--strip", "4") as made:
        yield made


@pytest.fixture
async def moving(camera: SimulatedCamera, folder: Path) -> AsyncIterator[BoardClient]:
    """The driver on a board of that camera's rig, with the first strip in the gate."""
    with board_at(camera, folder) as url:
        client = BoardClient(url, RealClock())
        await client.ready()
        await asyncio.to_thread(camera.hand.lay, 1)
        async with asyncio.timeout(PATIENCE_S):
            while not (await client.place()).film:
                pass
        yield client
        await client.close()


async def film_rests_at(camera: SimulatedCamera, mm: float) -> None:
    async with asyncio.timeout(PATIENCE_S):
        while True:
            film = await asyncio.to_thread(camera.hand.film)
            if not film["moving"] and film["position_mm"] == pytest.approx(mm, abs=0.02):
                return


async def test_the_motor_moves_what_the_camera_sees(camera: SimulatedCamera, moving: BoardClient) -> None:
    start = camera.hand.film()["position_mm"]
    place = await moving.advance(62.0)
    assert (place.why, place.film) == ("done", True)
    await film_rests_at(camera, start + 62.0)
    place = await moving.advance(124.0)
    await film_rests_at(camera, start + 186.0)
    assert (place.why, place.film) == ("done", False), "the last frame is there, and no film after it"
    assert place.edge_mm is not None
    strip = camera.hand.film()["frames"]
    length = strip[-1]["centre_mm"] + strip[0]["centre_mm"]  # half a gap and half a frame at either end
    assert start + place.edge_mm + 50.0 == pytest.approx(length, abs=1.5)  # the sensor's place


async def test_a_stop_leaves_the_film_where_it_is(camera: SimulatedCamera, moving: BoardClient) -> None:
    start = camera.hand.film()["position_mm"]
    advancing = asyncio.ensure_future(moving.advance(150.0))
    while (await moving.place()).mm < 20:
        pass
    await moving.stop()
    with pytest.raises(MotionStopped):
        await advancing
    await film_rests_at(camera, start + (await moving.place()).mm)
