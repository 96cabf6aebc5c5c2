"""The rig triggers by itself: each frame once and in order, never while anything is amiss."""

from __future__ import annotations

import random
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from feeding import Feeder, armed
from rigs import daemon_on

from rigd.model.events import Disarmed, Judged, Settled, Triggered, Troubled
from rigd.model.words import Decision, Film, Quality

if TYPE_CHECKING:
    from conftest import Simulated


async def _first(feeder: Feeder, strip: int = 1) -> None:
    """The first frame of a strip, taken."""
    await feeder.lay(strip)
    await feeder.taken()


async def test_a_roll_is_taken_without_a_press_each_frame_once_and_in_order(
    simulated: Simulated, tmp_path: Path
) -> None:
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        for strip in (1, 2, 3):
            await _first(feeder, strip)
            for place in (2, 3, 4):
                await feeder.slide(frame=place)
                await feeder.taken()
            await feeder.lay(None)
            await feeder.says("open", "waiting")
        assert feeder.places() == [(strip, place) for strip in (1, 2, 3) for place in (1, 2, 3, 4)]
        # The scene's script: the seventh frame of twelve was never exposed.
        assert [f.film for f in feeder.frames] == [Film.UNEXPOSED if n == 7 else Film.PICTURE for n in range(1, 13)]
        assert all(len(f.keeper) == 1 for f in feeder.frames)
        events = [c.event for c in await feeder.daemon.desk.hub.ledger.read()]
        assert sum(isinstance(e, Triggered) and e.source == "watch" for e in events) == 12
        settled = [e for e in events if isinstance(e, Settled) and e.frame_id]
        assert all(e.how == "measured" for e in settled)
        assert feeder.roll.closed


async def test_it_is_disarmed_at_the_start_and_nothing_is_taken_then(simulated: Simulated, tmp_path: Path) -> None:
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await _first(feeder)
        assert feeder.daemon.desk.state.armed
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        state = (await verbs.status()).state
        assert not state.armed
        assert "started" in state.disarmed
        assert daemon.desk.hub.vitals.watch == "off"


async def test_armed_anew_it_does_not_take_what_was_taken(simulated: Simulated, tmp_path: Path) -> None:
    """Across a restart the frame is known by its file; without one, because it was watched."""
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await _first(feeder)
        await feeder.verbs.disarm()
        await feeder.verbs.arm()
        await feeder.says("taken")
        await feeder.daemon.desk.engine().until_idle()
    async with armed(tmp_path, simulated.camera, simulated.hand, fresh=False) as feeder:
        # Nobody has seen the film move yet, and the way to the next frame is told: a pitch of 120 film.
        told = await feeder.see(lambda v: v.watch == "taken" and v.nudge_mm is not None)
        assert told.nudge_mm == pytest.approx(-63, abs=2)
        assert len(feeder.frames) == 1
        await feeder.slide(frame=2)
        await feeder.taken()
        assert feeder.places() == [(1, 1), (1, 2)]


async def test_half_a_frame_is_not_taken_and_the_way_is_told(simulated: Simulated, tmp_path: Path) -> None:
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await _first(feeder)
        await feeder.slide(frame=2, off_mm=-20.0)
        told = await feeder.see(lambda v: v.watch == "partly" and v.nudge_mm in (-21.0, -20.0, -19.0))
        assert "to the left" in told.where
        assert len(feeder.frames) == 1
        await feeder.slide(frame=2, off_mm=-3.0)
        await feeder.taken()
        assert feeder.places() == [(1, 1), (1, 2)]


async def test_a_hand_in_the_gate_holds_it_back(simulated: Simulated, tmp_path: Path) -> None:
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await _first(feeder)
        await feeder.hand.acall("cover", share=0.3)
        await feeder.slide(frame=2)
        await feeder.says("hand")
        assert len(feeder.frames) == 1
        await feeder.hand.acall("cover", share=0.0)
        await feeder.taken()
        assert feeder.places() == [(1, 1), (1, 2)]


async def test_a_kick_in_the_exposure_makes_it_suspect_and_it_is_repeated(simulated: Simulated, tmp_path: Path) -> None:
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await feeder.lay(1)
        await feeder.hear(Settled)
        # The film slips in the holder while the shutter is open.
        await feeder.slide(frame=1, off_mm=0.6, seconds=0.0)
        judged = await feeder.hear(Judged)
        assert isinstance(judged, Judged)
        assert judged.verdict.take in (Quality.SUSPECT, Quality.SOFT)
        assert judged.decision is Decision.RETAKE
        assert judged.verdict.numbers["moved_um"] == pytest.approx(600, abs=60)
        await feeder.taken()
        (frame,) = feeder.frames
        assert len(frame.takes) == 2
        assert feeder.daemon.desk.state.armed


async def test_trouble_disarms_it_and_says_why(simulated: Simulated, tmp_path: Path) -> None:
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        simulated.hand.fault("card_full", "capture")
        await feeder.lay(1)
        trouble = await feeder.hear(Troubled)
        assert isinstance(trouble, Troubled)
        disarmed = await feeder.hear(Disarmed)
        assert isinstance(disarmed, Disarmed)
        assert (disarmed.by, disarmed.why) == ("rigd", trouble.what)
        assert feeder.daemon.desk.state.disarmed == trouble.what


async def test_random_slides_take_nothing_twice_and_nothing_out_of_order(simulated: Simulated, tmp_path: Path) -> None:
    """A clumsy hand: too far, back, half way, as the numbers have it; then to the place where it should be."""
    chance = random.Random(7)
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await _first(feeder)
        for place in (2, 3, 4):
            for _ in range(2):
                # Anywhere but where the frame that is wanted lies whole.
                off = chance.choice((-1, 1)) * chance.uniform(12.0, 45.0)
                await feeder.slide(frame=place, off_mm=off, seconds=chance.uniform(0.6, 1.4))
                await feeder.says("partly", "taken", "beyond")
            await feeder.slide(frame=place, seconds=chance.uniform(0.6, 1.4))
            await feeder.taken()
        assert feeder.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        assert [len(frame.keeper) for frame in feeder.frames] == [1, 1, 1, 1]
