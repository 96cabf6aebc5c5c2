"""The way to slide film is that of whoever stands before the rig, however the strip lies: against the scene's truth."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from feeding import armed

from rigd.model.words import Emulsion

if TYPE_CHECKING:
    from conftest import Simulated

_OFF_MM = 20.0


@pytest.mark.parametrize(("emulsion", "turn"), [("down", 180), ("up", 0), ("up", 180), ("down", 0)])
async def test_the_way_to_slide_follows_side_and_turn(
    simulated: Simulated, tmp_path: Path, emulsion: str, turn: int
) -> None:
    """`nudge_mm` is right positive as the camera sees the film from above. The truth says where the frame lies."""
    async with armed(tmp_path, simulated.camera, simulated.hand) as feeder:
        await feeder.verbs.load_strip(places=4, emulsion=Emulsion(emulsion), turn=turn)
        await simulated.hand.acall("lay", strip=1, seconds=1.0, emulsion=emulsion, turn=turn)
        await feeder.taken()
        await feeder.slide(frame=2, off_mm=-_OFF_MM)
        await simulated.hand.acall("still")
        told = await feeder.see(lambda v: v.watch == "partly" and v.nudge_mm is not None and abs(v.nudge_mm) < 22)
        film = simulated.hand.film()
        corners = next(f["corners_px"] for f in film["frames"] if f["place"] == 2)
        # 2 MP: the sensor is 1728 px wide.
        right_of_middle = (sum(x for x, _ in corners) / 4 - 863.5) / film["px_per_mm"]
        assert abs(right_of_middle) == pytest.approx(_OFF_MM, abs=0.5)
        assert told.nudge_mm == pytest.approx(-right_of_middle, abs=1.5)
        assert told.where == f"Slide {abs(told.nudge_mm):g} mm to the {'left' if right_of_middle > 0 else 'right'}."
        await feeder.slide(frame=2)
        await feeder.taken()
        assert [place for _, place in feeder.places()] == [1, 2]
