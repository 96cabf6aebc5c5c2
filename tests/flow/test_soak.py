"""Every frame once, in order, none of another's, memory flat: `make soak` for a thousand frames, here a short form."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from advancing import Advancing, advancing
from soaking import Soak, resident_mb

from rigd.model.words import Stage

if TYPE_CHECKING:
    from conftest import Advancer, Simulated

PLACES = 6
FRAMES = max(4, round(int(os.environ.get("RIGD_SOAK_FRAMES", "24")) / PLACES)) * PLACES
SEED = int(os.environ.get("RIGD_SOAK_SEED", "1"))
STRIPS = FRAMES // PLACES
# What a daemon may grow by after the first tenth of a long job; the test's own bookkeeping is in it.
GROWTH_MB = 20.0
LONG = 300
FILM = ("--frames", FRAMES, "--strip", PLACES, "--script", "rough", "--seed", SEED, "--card-megabytes", 64_000)


@pytest.mark.parametrize("simulated", [FILM], indirect=True, ids=[f"{FRAMES} frames"])
async def test_a_long_job_with_all_that_goes_wrong(simulated: Simulated, advancer: Advancer, tmp_path: Path) -> None:
    async with advancing(tmp_path, simulated, advancer, True, PLACES, (FRAMES, FRAMES), remember=False) as rig:
        soak = Soak(rig, PLACES, SEED)
        begun = 0.0
        for number in range(1, STRIPS + 1):
            await soak.strip(number, "board" if number % 2 else "hand")
            if number == max(1, STRIPS // 10):
                begun = resident_mb()
            _tell(rig, soak, number)
        await rig.at_rest()
        every_frame_once_in_order(rig)
        await every_file_is_its_own(rig)
        if FRAMES >= LONG:
            assert resident_mb() - begun < GROWTH_MB


def every_frame_once_in_order(rig: Advancing) -> None:
    roll = rig.daemon.desk.state.rolls["r-0001"]
    frames = sorted(roll.frames.values(), key=lambda f: f.frame.frame_id)
    met = [(roll.strips[f.frame.strip_id].number, f.frame.place) for f in frames]
    assert met == [(strip, place) for strip in range(1, STRIPS + 1) for place in range(1, PLACES + 1)]
    assert all(len(frame.keeper) == 1 for frame in frames)
    # The witness asked the scene at each exposure what lay in the gate; the nearest frame is not to be mistaken.
    rig.all_true(tolerance_mm=8.0)


async def every_file_is_its_own(rig: Advancing) -> None:
    """Files on the card in the order of the exposures, each claimed by one take, with the card's own checksum."""
    roll = rig.daemon.desk.state.rolls["r-0001"]
    takes = sorted((t for t in roll.takes.values() if t.stage is Stage.JUDGED), key=lambda t: t.take_id)
    names = [take.files[0].name for take in takes]
    assert names == sorted(set(names)), "no file twice, none out of its turn"
    truth = await rig.hand.acall("truth")
    on_card = {picture["name"]: picture["sha256"] for picture in truth["camera"]["pictures"]}
    assert all(on_card[take.files[0].name] == take.sha256 for take in takes)


def _tell(rig: Advancing, soak: Soak, number: int) -> None:
    told = ", ".join(f"{what} {count}" for what, count in sorted(soak.happened.items()))
    takes = rig.daemon.desk.state.take_count
    print(f"strip {number} of {STRIPS}: {takes} takes, {resident_mb():.0f} MB; {told}", flush=True)
