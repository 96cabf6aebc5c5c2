"""What `rigd check` gets to say, on the simulated camera."""

from __future__ import annotations

import msgspec
from tests.contract.camera.kit import INITIATE_CAPTURE, Make, operations

from rigd.drivers.camera import CameraClient
from rigd_sim.control.start import SimulatedCamera


async def test_a_healthy_camera(sim: SimulatedCamera, camera: CameraClient) -> None:
    survey = await camera.survey()
    assert survey.found
    assert (survey.model, survey.serial) == ("Simulated Body", "RS0000001")
    roles = {line.role: line for line in survey.roles}
    shutter = roles["shutter"]
    assert (shutter.widget, shutter.value, shutter.readable, shutter.writable) == (
        "shutterspeed",
        "0.0200s",
        True,
        True,
    )
    assert shutter.choices == 53
    assert not roles["battery"].writable
    assert not roles["stabiliser"].widget
    status = {line.topic: line.status for line in survey.advice}
    assert status["manual exposure"] == status["manual focus"] == status["battery"] == status["clock"] == "ok"
    assert status["stabiliser"] == "unknown"
    assert operations(sim, INITIATE_CAPTURE) == []


async def test_what_is_wrong_is_to_be_attended_to(sim: SimulatedCamera, make: Make) -> None:
    sim.hand.call("turn", setting="battery_level", value=12)
    sim.hand.call("clock", offset=-7200.0)
    try:
        survey = await make().survey()
    finally:
        sim.hand.call("turn", setting="battery_level", value=100)
        sim.hand.call("clock", offset=0.0)
    told = {line.topic: line for line in survey.advice}
    assert (told["battery"].status, told["battery"].found) == ("attend", "12 %")
    assert told["clock"].status == "attend"
    assert "behind" in told["clock"].found


async def test_it_connects_by_itself_and_may_be_asked_during_a_job(make: Make) -> None:
    client = make()
    assert (await client.survey()).found
    assert (await client.shoot()).files
    assert (await client.survey()).found
    assert (await client.shoot()).files


async def test_no_camera_is_a_finding_too(sim: SimulatedCamera, make: Make) -> None:
    sim.hand.call("power", on=False)
    survey = await make().survey()
    assert not survey.found
    assert survey.problem is not None
    assert all(survey.problem)


async def test_it_can_be_written_as_json(camera: CameraClient) -> None:
    assert b'"found":true' in msgspec.json.encode(await camera.survey())
