"""Live view on the simulated camera: PTP 1.1 streams."""

from __future__ import annotations

import asyncio
import time

import cv2
import numpy as np
import pytest
from tests.contract.camera.kit import FAST, GET_STREAM, SET_PROPERTY, Make, config_of, operations, until

from rigd.drivers.camera import CameraClient
from rigd.errors import CameraError, CameraRefused
from rigd_sim.control.start import SimulatedCamera


async def test_pictures_are_whole_jpegs(sim: SimulatedCamera, camera: CameraClient) -> None:
    await camera.start()
    first, second = await camera.picture(), await camera.picture()
    await camera.stop()
    for jpeg in (first, second):
        # SOI and EOI markers: ITU-T T.81, table B.1.
        assert jpeg[:2] == b"\xff\xd8"
        assert jpeg[-2:] == b"\xff\xd9"
        picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
        assert picture is not None
        assert picture.shape[1] == 960


async def test_stop_ends_the_stream_at_the_camera(sim: SimulatedCamera, camera: CameraClient) -> None:
    await camera.start()
    await camera.picture()
    since = time.monotonic()
    await camera.stop()
    assert len(operations(sim, SET_PROPERTY, since)) == 1
    await camera.stop()
    assert len(operations(sim, SET_PROPERTY, since)) == 1


async def test_a_still_leaves_live_view_first_and_pictures_come_again_after(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    await camera.start()
    await camera.picture()
    since = time.monotonic()
    shot = await camera.shoot()
    assert shot.files
    assert shot.strays == ()
    left = operations(sim, SET_PROPERTY, since)
    assert len(left) == 1
    assert left[0]["end"] < operations(sim, 0x100E, since)[0]["start"]
    assert (await camera.picture())[:2] == b"\xff\xd8"


async def test_a_picture_asked_for_during_an_exposure_waits_for_it(sim: SimulatedCamera, camera: CameraClient) -> None:
    since = time.monotonic()
    shot = asyncio.create_task(camera.shoot())
    await until(lambda: bool(operations(sim, 0x100E, since)))
    picture = await camera.picture()
    assert shot.done()
    assert picture[:2] == b"\xff\xd8"
    assert operations(sim, GET_STREAM, since)[0]["start"] - operations(sim, 0x100E, since)[0]["start"] > FAST.shutter_s


async def test_live_view_nobody_looks_at_ends_by_itself(sim: SimulatedCamera, make: Make) -> None:
    client = make(config_of(sim, live_idle_s=0.2))
    await client.connect()
    await client.picture()
    since = time.monotonic()
    await until(lambda: len(operations(sim, SET_PROPERTY, since)) == 1)
    assert (await client.picture())[:2] == b"\xff\xd8"


async def test_a_busy_camera_gives_no_picture_and_then_one(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("busy", "liveview")
    with pytest.raises(CameraRefused, match="busy"):
        await camera.picture()
    assert (await camera.picture())[:2] == b"\xff\xd8"


@pytest.mark.parametrize("kind", ["drop", "stall"])
async def test_a_link_that_breaks_in_live_view_is_lost(sim: SimulatedCamera, camera: CameraClient, kind: str) -> None:
    sim.hand.fault(kind, "liveview")
    with pytest.raises(CameraError):
        await camera.picture()
    sim.hand.clear()
    await camera.recover()
    assert (await camera.picture())[:2] == b"\xff\xd8"
