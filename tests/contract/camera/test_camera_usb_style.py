"""The library's own virtual USB camera, which knows nothing of the simulator: a second, independent path.

It has no sensitivity and no live view, and gives at most 26 pictures (CAMERA-FACTS section 2).
"""

from __future__ import annotations

import os
import signal
from collections.abc import AsyncIterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.contract.camera.kit import QUICK, runs

from rigd.drivers.camera import CameraClient, CameraConfig
from rigd.errors import CameraLacks, CameraMissing
from rigd.model.values import Exposure


@pytest.fixture
async def virtual(tmp_path: Path) -> AsyncIterator[CameraClient]:
    folder = tmp_path / "card" / "DCIM" / "100VCARD"
    folder.mkdir(parents=True)
    cv2.imwrite(str(folder / "PIC_0001.JPG"), np.full((80, 120, 3), 90, np.uint8))
    config = CameraConfig("usb", environment={"VCAMERADIR": str(tmp_path / "card")}, allow=QUICK)
    client = CameraClient(config)
    yield client
    pid = client.worker_pid
    await client.close()
    assert not runs(pid)


async def test_a_whole_shot(virtual: CameraClient, tmp_path: Path) -> None:
    body = await virtual.connect()
    assert body.serial
    assert body.lacks == ("the sensitivity cannot be set",)
    assert 1 / 800 in [choice.value for choice in body.shutters]
    now = await virtual.apply(Exposure(0.01, "1/100", 8.0, 100))
    assert (now.shutter, now.f_number, now.iso) == ("0.0100s", 8.0, 100)
    before = await virtual.items()
    shot = await virtual.shoot()
    assert len(shot.files) == 1
    assert shot.files[0] not in before
    into = tmp_path / "frame.part"
    assert await virtual.fetch(shot.files[0], into) == shot.files[0].bytes == into.stat().st_size
    assert into.read_bytes()[:2] == b"\xff\xd8"
    assert set(await virtual.items()) == {*before, *shot.files}
    await virtual.remove(shot.files[0])
    assert await virtual.items() == before


async def test_pictures_go_to_the_memory_card(virtual: CameraClient) -> None:
    await virtual.connect()
    lines = {line.role: line for line in (await virtual.survey()).roles}
    assert (lines["target"].widget, lines["target"].value) == ("capturetarget", "Memory card")


async def test_what_it_lacks_is_named(virtual: CameraClient) -> None:
    await virtual.connect()
    with pytest.raises(CameraLacks, match="shutter time"):
        await virtual.apply(Exposure(0.3, "0.3"))
    with pytest.raises(CameraLacks, match="aperture"):
        await virtual.apply(Exposure(0.01, "1/100", 64.0))


async def test_after_a_crash_a_new_worker_finds_it_again(virtual: CameraClient) -> None:
    await virtual.connect()
    os.kill(virtual.worker_pid or 0, signal.SIGKILL)
    body = await virtual.recover()
    assert body.serial


async def test_an_empty_bus_says_so(tmp_path: Path) -> None:
    client = CameraClient(CameraConfig("usb", model="no such model", environment={"VCAMERADIR": str(tmp_path)}))
    with pytest.raises(CameraMissing, match="No camera no such model is on USB"):
        await client.connect()
    await client.close()
