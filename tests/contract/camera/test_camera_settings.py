"""Settings: set, read back, compared; and the menus of the simulated body as numbers."""

from __future__ import annotations

import time
from math import log2

import pytest
from msgspec.structs import replace
from tests.contract.camera.kit import FAST, SET_PROPERTY, SLOW, Make, config_of, operations

from rigd.drivers.camera import CameraClient
from rigd.errors import CameraLacks, CameraLost, CameraRefused
from rigd.model.values import Exposure
from rigd_sim.control.start import SimulatedCamera

OK = 0x2001  # the PTP response code for success


async def test_the_shutter_list_is_in_third_stops(make: Make) -> None:
    """CHECK-VALUES c1, c4 (computed): the true times are 2^-(i/3), and no nominal one is further off than 0.0931 stop.

    The standard property counts whole units of 0.1 ms (CAMERA-FACTS section 2), so that 1/4000 s and 1/6400 s cannot
    be told from their neighbours; a body that keeps to it leaves them out.
    """
    shutters = (await make().connect()).shutters
    thirds = [-3 * log2(choice.value) for choice in shutters]
    steps = [round(third) for third in thirds]
    assert max(abs(third - step) / 3 for third, step in zip(thirds, steps, strict=True)) <= 0.0931 + 5e-5
    assert steps[0] == -15
    assert steps[-1] == 39
    assert sorted(set(range(-15, 40)) - set(steps)) == [36, 38]
    assert len(steps) == len(set(steps)) == 53


async def test_the_aperture_and_sensitivity_lists_are_in_third_stops(make: Make) -> None:
    """CHECK-VALUES c5, c7 (computed): f-numbers are off by at most 0.0811 stop from f/2.8 to f/22, ISO by 0.0228."""
    body = await make().connect()
    stops = [6 * log2(choice.value) for choice in body.apertures]
    assert max(abs(stop - round(stop)) / 3 for stop in stops) <= 0.0811 + 5e-5
    speeds = [3 * log2(choice.value / 100) for choice in body.isos]
    assert max(abs(speed - round(speed)) / 3 for speed in speeds) <= 0.0228 + 5e-5


async def test_every_shutter_time_can_be_set_and_is_what_the_camera_then_has(sim: SimulatedCamera, make: Make) -> None:
    client = make()
    body = await client.connect()
    for choice in body.shutters:
        now = await client.apply(Exposure(choice.value, choice.label))
        assert (now.shutter, now.shutter_s) == (choice.label, choice.value)


async def test_a_time_between_two_entries_is_not_snapped_to(camera: CameraClient) -> None:
    """The library would take the nearest in silence."""
    with pytest.raises(CameraLacks, match="shutter time"):
        await camera.apply(Exposure(0.0180, "1/55"))
    with pytest.raises(CameraLacks, match="sensitivity"):
        await camera.apply(replace(FAST, iso=115))
    assert (await camera.apply(FAST)) == FAST


async def test_a_label_of_another_spelling_finds_its_entry(camera: CameraClient) -> None:
    assert (await camera.apply(Exposure(1 / 125, "1/125"))).shutter == "0.0080s"


async def test_an_ok_that_sets_nothing_is_found_out(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("answer", "set_config", code=OK, count=None)
    since = time.monotonic()
    with pytest.raises(CameraRefused, match=r"After 3 tries it shows 0\.0200s"):
        await camera.apply(SLOW)
    assert len(operations(sim, SET_PROPERTY, since)) == 3
    sim.hand.clear()
    assert (await camera.apply(SLOW)).shutter == "1.0000s"


async def test_one_busy_moment_is_overcome(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("busy", "set_config")
    assert (await camera.apply(SLOW)).shutter == "1.0000s"


async def test_a_camera_that_stays_busy_is_refused_as_busy(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("busy", "set_config", count=None)
    with pytest.raises(CameraRefused, match="busy"):
        await camera.apply(SLOW)


async def test_a_set_that_timed_out_is_settled_by_recovering(sim: SimulatedCamera, camera: CameraClient) -> None:
    """It may have been set all the same; the stream is out of step, so the camera has to be opened again to know."""
    sim.hand.fault("stall", "set_config")
    with pytest.raises(CameraLost):
        await camera.apply(SLOW)
    sim.hand.clear()
    await camera.recover()
    assert (await camera.apply(SLOW)).shutter == "1.0000s"
    assert (await camera.shoot()).seconds > SLOW.shutter_s


async def test_a_camera_that_freezes_while_being_set_is_lost_not_lacking(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    sim.hand.fault("freeze", "set_config")
    with pytest.raises(CameraLost):
        await camera.apply(SLOW)
    sim.hand.clear()
    await camera.recover()
    assert (await camera.apply(SLOW)).shutter == "1.0000s"


async def test_busy_at_reading_does_not_make_a_setting_vanish(sim: SimulatedCamera, make: Make) -> None:
    """The library drops a setting that it cannot read just then, without a word."""
    client = make(config_of(sim, busy_s=5.0))
    sim.hand.fault("busy", "get_config", count=4)
    body = await client.connect()
    assert body.lacks == ()


async def test_a_dial_turned_by_hand_is_seen(sim: SimulatedCamera, camera: CameraClient) -> None:
    """0x500D counts units of 0.1 ms: 10000 is one second. The shot then takes a second, and is waited for."""
    sim.hand.call("turn", setting="exposure_time", value=10_000)
    shot = await camera.shoot()
    assert shot.seconds > 1.0
    assert len(shot.files) == 1
    assert (await camera.apply(FAST)).shutter == FAST.shutter


async def test_a_lens_without_contacts_is_taken_as_it_is_told(sim: SimulatedCamera, make: Make) -> None:
    """Its f-number shows as 0, which is not among the choices (the case that crashes python-gphoto2 2.6.4)."""
    sim.hand.call("turn", setting="f_number", value=0)
    try:
        client = make()
        await client.connect()
        assert (await client.apply(replace(FAST, f_number=None))).f_number is None
        assert (await client.shoot()).files
    finally:
        sim.hand.call("turn", setting="f_number", value=800)


async def test_a_setting_named_by_hand_that_is_not_there_leaves_the_usual_ones(
    sim: SimulatedCamera, make: Make
) -> None:
    client = make(replace(config_of(sim), widgets={"shutter": "nosuchthing"}))
    assert (await client.connect()).shutters
    assert (await client.apply(FAST)).shutter == FAST.shutter
