"""What happens to each verb when the line or the camera fails: the right error, nothing half-done, well again after.

Codes and times are those of CAMERA-FACTS section 2, measured on libgphoto2 2.5.33.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from tests.contract.camera.kit import INITIATE_CAPTURE, SLOW, Make, config_of, on_card, operations, until

from rigd.drivers.camera import CameraClient
from rigd.errors import CameraError, CameraLost, CameraMissing, CameraRefused, CardFull
from rigd_sim.control.start import SimulatedCamera

BLOCK = 1 << 20  # bytes; the library fetches in blocks of this size


async def well_again(sim: SimulatedCamera, camera: CameraClient, tmp_path: Path) -> None:
    """One button, then a whole shot."""
    sim.hand.clear()
    since = time.monotonic()
    await camera.recover()
    assert operations(sim, INITIATE_CAPTURE, since) == []
    shot = await camera.shoot()
    assert await camera.fetch(shot.files[0], tmp_path / "again.part") == on_card(sim)[-1]["size"]


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("drop", {"after_bytes": 2 * BLOCK + 1000}),
        ("stall", {"after_bytes": 2 * BLOCK + 1000}),
        ("garble", {"after_bytes": 1000}),
        ("freeze", {}),
        ("short_transfer", {"after_bytes": 3 * BLOCK}),
    ],
)
async def test_a_download_that_breaks_leaves_no_file(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path, kind: str, more: dict[str, int]
) -> None:
    shot = await camera.shoot()
    into = tmp_path / "frame.part"
    sim.hand.fault(kind, "download", **more)
    with pytest.raises(CameraLost):
        await camera.fetch(shot.files[0], into)
    assert not into.exists()
    sim.hand.clear()
    await camera.recover()
    assert await camera.fetch(shot.files[0], into) == on_card(sim)[0]["size"]
    await well_again(sim, camera, tmp_path)


async def test_a_busy_download_is_asked_for_again(sim: SimulatedCamera, camera: CameraClient, tmp_path: Path) -> None:
    shot = await camera.shoot()
    sim.hand.fault("busy", "download", count=2)
    assert await camera.fetch(shot.files[0], tmp_path / "frame.part") == on_card(sim)[0]["size"]


async def test_a_download_that_stays_busy_is_refused(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path
) -> None:
    shot = await camera.shoot()
    sim.hand.fault("busy", "download", count=None)
    with pytest.raises(CameraRefused, match="busy"):
        await camera.fetch(shot.files[0], tmp_path / "frame.part")
    assert not (tmp_path / "frame.part").exists()
    sim.hand.clear()
    assert await camera.fetch(shot.files[0], tmp_path / "frame.part") == on_card(sim)[0]["size"]


@pytest.mark.parametrize("kind", ["drop", "stall", "garble", "freeze"])
async def test_a_link_that_breaks_at_the_release_makes_the_shot_unknown(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path, kind: str
) -> None:
    sim.hand.fault(kind, "capture", performed=True) if kind == "drop" else sim.hand.fault(kind, "capture")
    since = time.monotonic()
    with pytest.raises(CameraLost):
        await camera.shoot()
    assert len(operations(sim, INITIATE_CAPTURE, since)) <= 1
    await well_again(sim, camera, tmp_path)


async def test_a_camera_that_freezes_after_the_release_is_found_out(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path
) -> None:
    """Waiting for events shows nothing: a frozen camera looks like a quiet one."""
    sim.hand.fault("freeze", "event")
    with pytest.raises(CameraLost, match="stopped answering after the release"):
        await camera.shoot()
    await well_again(sim, camera, tmp_path)


async def test_a_busy_camera_is_not_pressed_twice(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("busy", "capture", count=None)
    since = time.monotonic()
    with pytest.raises(CameraRefused, match="busy"):
        await camera.shoot()
    assert len(operations(sim, INITIATE_CAPTURE, since)) == 1
    sim.hand.clear()
    assert (await camera.shoot()).strays == ()


async def test_a_busy_answer_to_a_release_that_happened_all_the_same_is_the_shot(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    """The body is still busy with a picture taken by hand: its file comes, and is not dated before the release."""
    await camera.apply(SLOW)
    sim.hand.call("press")
    since = time.monotonic()
    shot = await camera.shoot()
    assert len(operations(sim, INITIATE_CAPTURE, since)) == 1
    assert [file.name for file in (*shot.files, *shot.strays)] == [picture["name"] for picture in on_card(sim)]


@pytest.mark.parametrize("code", [0x2002, 0x200F], ids=["general", "denied"])
async def test_a_refused_release_shows_what_the_camera_said(
    sim: SimulatedCamera, camera: CameraClient, code: int
) -> None:
    sim.hand.fault("answer", "capture", code=code)
    with pytest.raises(CameraRefused) as caught:
        await camera.shoot()
    assert "PTP" in caught.value.why
    assert (await camera.shoot()).files


@pytest.mark.parametrize("at", ["capture", "picture"])
async def test_a_full_card_stops_with_its_own_error(sim: SimulatedCamera, camera: CameraClient, at: str) -> None:
    """Before the release as an answer, after it as an event."""
    sim.hand.fault("card_full", at)
    with pytest.raises(CardFull):
        await camera.shoot()
    assert on_card(sim) == []
    assert (await camera.shoot()).files


@pytest.mark.parametrize("kind", ["drop", "stall", "freeze", "garble"])
async def test_a_camera_that_does_not_come_up_is_missing(sim: SimulatedCamera, make: Make, kind: str) -> None:
    client = make()
    sim.hand.fault(kind, "init", count=None)
    with pytest.raises(CameraMissing) as caught:
        await client.connect()
    assert caught.value.remedy
    sim.hand.clear()
    assert (await client.connect()).serial == "RS0000001"


async def test_an_address_where_nobody_listens_is_missing_at_once(sim: SimulatedCamera, make: Make) -> None:
    client = make()
    sim.hand.call("power", on=False)
    start = time.monotonic()
    with pytest.raises(CameraMissing):
        await client.connect()
    # The library's own time-outs, which a dead address does not wait for, take three times 2.5 s.
    assert time.monotonic() - start < 5
    sim.hand.call("power", on=True)
    assert (await client.connect()).serial == "RS0000001"


async def test_the_ladder_ends_with_a_word_what_to_do(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.call("power", on=False)
    with pytest.raises(CameraError):
        await camera.shoot()
    with pytest.raises(CameraMissing) as caught:
        await camera.recover()
    assert "off and on" in caught.value.remedy
    sim.hand.call("power", on=True)
    assert (await camera.recover()).serial == "RS0000001"
    assert (await camera.shoot()).files


async def test_a_camera_that_goes_away_while_nothing_is_asked_is_told(sim: SimulatedCamera, make: Make) -> None:
    lost: list[CameraError] = []
    client = make(on_lost=lost.append)
    await client.connect()
    sim.hand.fault("drop", "now")
    await until(lambda: bool(lost))
    assert type(lost[0]) is CameraLost
    with pytest.raises(CameraLost):
        await client.shoot()
    await client.recover()
    assert (await client.shoot()).files


async def test_a_camera_that_freezes_while_nothing_is_asked_is_told(sim: SimulatedCamera, make: Make) -> None:
    lost: list[CameraError] = []
    client = make(config_of(sim, breath_s=0.1), on_lost=lost.append)
    await client.connect()
    sim.hand.fault("freeze", "now")
    await until(lambda: bool(lost))
    assert type(lost[0]) is CameraLost
    sim.hand.clear()
    await client.recover()
    assert (await client.shoot()).files


@pytest.mark.parametrize("kind", ["busy", "answer"])
async def test_a_delete_that_the_camera_refuses_is_found_out(
    sim: SimulatedCamera, camera: CameraClient, kind: str
) -> None:
    """The library says that all went well."""
    shot = await camera.shoot()
    sim.hand.fault(kind, "delete")
    with pytest.raises(CameraRefused, match="still on the card"):
        await camera.remove(shot.files[0])
    assert await camera.items() == shot.files
    await camera.remove(shot.files[0])
    assert on_card(sim) == []


@pytest.mark.parametrize("kind", ["drop", "stall", "garble"])
async def test_a_delete_on_a_link_that_breaks(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path, kind: str
) -> None:
    """Deleted or not, the answer is the truth."""
    shot = await camera.shoot()
    sim.hand.fault(kind, "delete")
    try:
        await camera.remove(shot.files[0])
    except CameraError:
        pass
    else:
        assert on_card(sim) == []
    await well_again(sim, camera, tmp_path)
