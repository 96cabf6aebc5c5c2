"""Every verb of the ports Camera and Card, on the simulated camera through the real driver."""

from __future__ import annotations

import hashlib
import resource
import time
from datetime import datetime
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.contract.camera.kit import DELETE_OBJECT, FAST, INITIATE_CAPTURE, SLOW, Make, config_of, on_card, operations

from rigd import ports
from rigd.drivers.camera import CameraClient
from rigd.errors import CameraError, CameraMissing, CameraRefused, DiskFaulty
from rigd_sim.control.start import SimulatedCamera


def as_ports(client: CameraClient) -> tuple[ports.Camera, ports.Card, ports.LiveView]:
    """The type checker's word that one client is all three."""
    return client, client, client


async def test_connect_tells_what_the_body_is_and_offers(sim: SimulatedCamera, make: Make) -> None:
    body = await make().connect()
    # What the simulated body is built with: rigd_sim.camera.arguments and settings.
    assert (body.model, body.serial) == ("Simulated Body", "RS0000001")
    assert body.battery_pct == 100
    assert body.card_free_bytes == 2048 << 20
    assert body.live_view
    assert body.lacks == ()
    assert [choice.value for choice in body.isos][:4] == [100, 125, 160, 200]
    assert next(choice for choice in body.apertures if choice.value == 8.0).label == "f/8"


async def test_the_camera_clocks_offset_is_measured_against_utc(sim: SimulatedCamera, make: Make) -> None:
    zone = datetime.now().astimezone().utcoffset()
    assert zone is not None
    sim.hand.call("clock", offset=-3600.0)
    try:
        body = await make().connect()
    finally:
        sim.hand.call("clock", offset=0.0)
    assert body.clock_offset_s == pytest.approx(zone.total_seconds() - 3600, abs=1.0)


async def test_apply_sets_and_reads_back(sim: SimulatedCamera, camera: CameraClient) -> None:
    now = await camera.apply(replace(SLOW, f_number=11.0, iso=400))
    assert now == replace(SLOW, f_number=11.0, iso=400)
    assert await camera.apply(replace(FAST, f_number=None, iso=None)) == replace(FAST, f_number=11.0, iso=400)


async def test_apply_sets_nothing_that_stands_already(sim: SimulatedCamera, camera: CameraClient) -> None:
    since = time.monotonic()
    await camera.apply(FAST)
    assert operations(sim, 0x1016, since) == []


async def test_shoot_gives_the_one_file_that_came(sim: SimulatedCamera, camera: CameraClient) -> None:
    before, since = datetime.now(), time.monotonic()
    shot = await camera.shoot()
    assert [file.name for file in shot.files] == [on_card(sim)[0]["name"]]
    assert shot.files[0].bytes == on_card(sim)[0]["size"]
    assert shot.strays == ()
    assert shot.seconds > FAST.shutter_s
    assert len(operations(sim, INITIATE_CAPTURE, since)) == 1
    taken = datetime.fromisoformat(shot.files[0].taken or "")
    assert abs((taken - before).total_seconds()) < 2


async def test_fetch_brings_every_byte(sim: SimulatedCamera, camera: CameraClient, tmp_path: Path) -> None:
    shot = await camera.shoot()
    into = tmp_path / "frame.part"
    written = await camera.fetch(shot.files[0], into)
    assert written == into.stat().st_size == on_card(sim)[0]["size"]
    assert hashlib.sha256(into.read_bytes()).hexdigest() == on_card(sim)[0]["sha256"]


async def test_fetch_never_writes_over_a_file(sim: SimulatedCamera, camera: CameraClient, tmp_path: Path) -> None:
    shot = await camera.shoot()
    into = tmp_path / "frame.part"
    into.write_text("somebody's")
    with pytest.raises(DiskFaulty, match="exists"):
        await camera.fetch(shot.files[0], into)
    assert into.read_text() == "somebody's"


async def test_fetch_into_a_folder_that_is_not_there(camera: CameraClient, tmp_path: Path) -> None:
    shot = await camera.shoot()
    with pytest.raises(DiskFaulty, match="No such file or directory"):
        await camera.fetch(shot.files[0], tmp_path / "no" / "frame.part")


async def test_fetch_of_a_file_that_is_not_on_the_card(camera: CameraClient, tmp_path: Path) -> None:
    shot = await camera.shoot()
    with pytest.raises(CameraRefused, match="not on the card"):
        await camera.fetch(replace(shot.files[0], name="RIG_4711.DNG"), tmp_path / "frame.part")
    assert not (tmp_path / "frame.part").exists()
    assert await camera.fetch(shot.files[0], tmp_path / "frame.part")


async def test_items_lists_the_card_oldest_first_and_remove_takes_one_away(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    assert await camera.items() == ()
    files = [(await camera.shoot()).files[0] for _ in range(3)]
    assert await camera.items() == tuple(files)
    since = time.monotonic()
    await camera.remove(files[1])
    assert await camera.items() == (files[0], files[2])
    assert [picture["name"] for picture in on_card(sim)] == [files[0].name, files[2].name]
    assert len(operations(sim, DELETE_OBJECT, since)) == 1


async def test_recover_on_a_healthy_camera_opens_it_again_and_sets_the_exposure(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    await camera.apply(SLOW)
    sim.hand.call("turn", setting="exposure_time", value=200)
    since = time.monotonic()
    body = await camera.recover()
    assert body.serial == "RS0000001"
    # 0x500D counts in units of 0.1 ms (ISO 15740): 1 s is 10,000.
    assert sim.hand.wirelog()[-1]["start"] > since  # type: ignore[operator]
    assert (await camera.apply(SLOW)).shutter == "1.0000s"
    assert operations(sim, INITIATE_CAPTURE, since) == []


async def test_another_body_is_not_taken_for_the_one_that_was_asked_for(sim: SimulatedCamera, make: Make) -> None:
    client = make(replace(config_of(sim), serial="RS0000099"))
    with pytest.raises(CameraMissing, match="RS0000099"):
        await client.connect()


async def test_another_model_is_not_taken_either(sim: SimulatedCamera, make: Make) -> None:
    with pytest.raises(CameraMissing, match="Here is Simulated Body RS0000001"):
        await make(replace(config_of(sim), model="another")).connect()
    assert (await make(replace(config_of(sim), model="simulated")).connect()).serial == "RS0000001"


async def test_before_connect_everything_says_so(make: Make) -> None:
    client = make()
    for call in (client.shoot(), client.items(), client.picture(), client.apply(FAST)):
        with pytest.raises(CameraMissing, match="Connect it first"):
            await call


async def test_close_twice_and_then_connect_again(make: Make) -> None:
    client = make()
    await client.connect()
    await client.close()
    await client.close()
    with pytest.raises(CameraError):
        await client.shoot()
    assert (await client.connect()).serial == "RS0000001"


@pytest.mark.skipif(not hasattr(resource, "prlimit"), reason="only Linux limits another process")
async def test_a_disk_that_cannot_be_written_is_not_taken_for_a_lost_camera(
    sim: SimulatedCamera, camera: CameraClient, tmp_path: Path
) -> None:
    """A limit on the size of files makes the worker's write fail in the middle, as a full or failing disk does."""
    shot = await camera.shoot()
    unlimited = resource.RLIM_INFINITY
    resource.prlimit(camera.worker_pid or 0, resource.RLIMIT_FSIZE, (1 << 20, unlimited))
    with pytest.raises(DiskFaulty, match="File too large"):
        await camera.fetch(shot.files[0], tmp_path / "frame.part")
    assert not (tmp_path / "frame.part").exists()
    resource.prlimit(camera.worker_pid or 0, resource.RLIMIT_FSIZE, (unlimited, unlimited))
    assert await camera.fetch(shot.files[0], tmp_path / "frame.part") == on_card(sim)[0]["size"]
