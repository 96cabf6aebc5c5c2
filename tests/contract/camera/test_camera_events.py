"""Events that are lost, late, repeated, unasked or garbled: a file is the shot's or a stray, never a guess."""

from __future__ import annotations

import asyncio
import time
from datetime import datetime

import pytest
from tests.contract.camera.kit import FAST, INITIATE_CAPTURE, QUICK, SLOW, Make, config_of, on_card, operations, until

from rigd.drivers.camera import CameraClient
from rigd.errors import CameraLost
from rigd.model.values import CardFile
from rigd_sim.control.start import SimulatedCamera, simulated_camera


async def test_a_picture_taken_by_hand_before_the_shot_is_a_stray(sim: SimulatedCamera, camera: CameraClient) -> None:
    """The stale buffered picture that would shift a whole roll by one."""
    assert sim.hand.call("press") == "OK"
    await until(lambda: len(on_card(sim)) == 1)
    shot = await camera.shoot()
    assert [file.name for file in shot.strays] == [on_card(sim)[0]["name"]]
    assert [file.name for file in shot.files] == [on_card(sim)[1]["name"]]
    assert (await camera.shoot()).strays == ()


async def test_an_idle_stray_is_told_at_once_and_again_with_the_next_shot(sim: SimulatedCamera, make: Make) -> None:
    told: list[CardFile] = []
    client = make(on_stray=told.append)
    await client.connect()
    await client.apply(FAST)
    sim.hand.call("press")
    await until(lambda: bool(told))
    assert told[0].name == on_card(sim)[0]["name"]
    assert told[0].bytes == on_card(sim)[0]["size"]
    shot = await client.shoot()
    assert shot.strays == tuple(told)
    assert shot.files[0] not in told


async def test_a_file_that_arrives_while_the_shutter_is_still_open_is_a_stray(sim: SimulatedCamera, make: Make) -> None:
    """A picture taken by hand whose event is held back until our own exposure runs."""
    client = make(config_of(sim, idle_s=600.0))
    await client.connect()
    await client.apply(FAST)
    sim.hand.fault("late_event", "event", seconds=0.6)
    sim.hand.call("press")
    await until(lambda: len(on_card(sim)) == 1)
    await client.apply(SLOW)
    shot = await client.shoot()
    assert [file.name for file in shot.strays] == [on_card(sim)[0]["name"]]
    assert [file.name for file in shot.files] == [on_card(sim)[1]["name"]]


@pytest.mark.parametrize("skip", [0, 1], ids=["file", "completion"])
async def test_a_repeated_event_changes_nothing(sim: SimulatedCamera, camera: CameraClient, skip: int) -> None:
    sim.hand.fault("duplicate_event", "event", skip=skip)
    first = await camera.shoot()
    second = await camera.shoot()
    assert [f.name for f in (*first.files, *second.files)] == [picture["name"] for picture in on_card(sim)]
    assert first.strays == second.strays == ()


async def test_without_the_completion_event_the_shot_ends_by_quiet(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("lost_event", "event", skip=1)
    shot = await camera.shoot()
    assert len(shot.files) == 1
    assert shot.seconds > FAST.shutter_s + QUICK.quiet_s


async def test_a_late_file_is_waited_for(sim: SimulatedCamera, camera: CameraClient) -> None:
    """Later than the first wait, earlier than the second; the completion comes first and proves nothing."""
    late = FAST.shutter_s + QUICK.event_s + 0.2
    sim.hand.fault("late_event", "event", seconds=late)
    shot = await camera.shoot()
    assert [file.name for file in shot.files] == [on_card(sim)[0]["name"]]
    assert shot.seconds > late


async def test_a_lost_file_event_makes_the_shot_unknown_and_the_card_tells(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    sim.hand.fault("lost_event", "event")
    since = time.monotonic()
    with pytest.raises(CameraLost, match="did not come"):
        await camera.shoot()
    assert len(operations(sim, INITIATE_CAPTURE, since)) == 1
    with pytest.raises(CameraLost, match="has not been connected again"):
        await camera.shoot()
    await camera.recover()
    assert [file.name for file in await camera.items()] == [on_card(sim)[0]["name"]]
    assert len(operations(sim, INITIATE_CAPTURE, since)) == 1
    shot = await camera.shoot()
    assert shot.strays == ()


async def test_a_dropped_event_connection_is_a_lost_shot(sim: SimulatedCamera, camera: CameraClient) -> None:
    sim.hand.fault("drop", "event")
    with pytest.raises(CameraLost):
        await camera.shoot()
    await camera.recover()
    assert len(await camera.items()) == 1
    assert (await camera.shoot()).files


async def test_garbled_events_do_not_become_files(sim: SimulatedCamera, camera: CameraClient) -> None:
    """The library steps over a packet of a kind that it does not know."""
    sim.hand.fault("garble", "event", count=2)
    shot = await camera.shoot()
    assert [file.name for file in shot.files] == [picture["name"] for picture in on_card(sim)]
    assert shot.strays == ()


async def test_a_file_dated_before_the_release_is_handed_over_only_where_nothing_better_comes(
    sim: SimulatedCamera, camera: CameraClient
) -> None:
    """Whether it is an old picture is for judging to find out; its date tells, and the clock's offset is known."""
    sim.hand.fault("wrong_time", "picture", seconds=-3600.0)
    before = datetime.now()
    shot = await camera.shoot()
    assert [file.name for file in shot.files] == [on_card(sim)[0]["name"]]
    taken = datetime.fromisoformat(shot.files[0].taken or "")
    assert (before - taken).total_seconds() == pytest.approx(3600, abs=3)
    assert shot.seconds > FAST.shutter_s + QUICK.quiet_s


async def test_where_the_cameras_time_runs_faster_its_files_are_not_too_early() -> None:
    """A simulated second takes a tenth of one: the check against files that come too soon has to be off."""
    with simulated_camera("--megapixels", "2", "--speed", "10") as fast:
        client = CameraClient(config_of(fast, earliest_share=0.0))
        await client.connect()
        await client.apply(SLOW)
        shot = await client.shoot()
        await client.close()
    assert len(shot.files) == 1
    assert shot.strays == ()
    assert shot.seconds < SLOW.shutter_s


async def test_a_shot_whose_caller_gave_up_is_not_the_next_ones(sim: SimulatedCamera, camera: CameraClient) -> None:
    await camera.apply(SLOW)
    since = time.monotonic()
    abandoned = asyncio.create_task(camera.shoot())
    await until(lambda: bool(operations(sim, INITIATE_CAPTURE, since)))
    abandoned.cancel()
    with pytest.raises(asyncio.CancelledError):
        await abandoned
    shot = await camera.shoot()
    names = [picture["name"] for picture in on_card(sim)]
    assert [file.name for file in shot.strays] == names[:1]
    assert [file.name for file in shot.files] == names[1:]
