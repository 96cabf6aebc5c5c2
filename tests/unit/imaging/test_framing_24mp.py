"""Framing at 24 MP against the scene's truth: every side that was seen lies within a tenth of a millimetre, the turn
within a tenth of a degree, in every format; film shrunk by a per cent, uneven gaps, touching and overlapping frames
are right or not found, never guessed."""

from __future__ import annotations

import numpy as np
import pytest

from rigd.imaging import Raw
from rigd.imaging.framing import find_frame
from rigd.imaging.placement import placement
from rigd.imaging.planes import for_judging
from rigd.model.formats import film_format
from rigd.model.words import Tone
from rigd_sim.scene import FrameSpec, Scene, SceneSpec

NEAR_MM, NEAR_DEG = 0.1, 0.1
# A gate throws a soft edge a tenth of a millimetre wide, and the edge is where it is half dark: so much within.
EDGE_MM = 0.04


def looked(name: str, tone: str = "negative", frame: int = 2, **more):
    """(what was found, true corners in px, px a mm, true turn) of one frame of a roll, exposed as suits it."""
    spec = SceneSpec(24, name, tone, "mono", frames=4, strip=None, seed=60, script="plain", **more)
    with Scene(spec, lambda: 60.0) as scene:
        chosen = next(f for s in scene.strips for f in s.frames if f.number == frame)
        scene.lay(chosen.strip, chosen.centre)
        seconds = scene.right_seconds(chosen)
        mosaic = scene.expose(60.0, seconds, 8.0, 100)
        scale, turn = scene.optics.px_per_mm, scene.spec.rotation_deg
        corners = next(f for f in scene.truth()["frames"] if f["place"] == chosen.place)["corners_px"]
    raw = Raw(mosaic, (0, 1, 1, 2), (512.0,) * 4, 16383.0, False, seconds, 8.0, 100.0, None)
    found = find_frame(for_judging(raw), film_format(name), Tone(tone), scale)
    # The scene counts from the first pixel's middle, the judge from its corner.
    return found, np.array(corners) + 0.5, scale, turn


def sides_off(found, truth: np.ndarray, scale: float) -> list[float]:
    """How far each side that was seen lies from the true one, mm: left, top, right, bottom."""
    off = (np.array(found.corners) - truth) / scale
    sides = ((off[0, 0] + off[3, 0]) / 2, (off[0, 1] + off[1, 1]) / 2, (off[1, 0] + off[2, 0]) / 2,
             (off[2, 1] + off[3, 1]) / 2)  # fmt: skip
    return [abs(float(s)) for s, seen in zip(sides, found.sides, strict=True) if seen >= 0.3]


FORMATS = ["135", "135-half", "135-24x65", *(f"120-6x{n}" for n in ("4.5", "6", "7", "8", "9", "12", "17"))]


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_to_a_tenth(name):
    found, truth, scale, turn = looked(name, frame=1, rotation_deg=0.4)
    assert found.found
    off = sides_off(found, truth, scale)
    assert len(off) >= 3
    assert max(off) < NEAR_MM + EDGE_MM
    lies = placement(found.corners, (6000, 4000), scale)
    assert lies.turn_deg == pytest.approx(turn, abs=NEAR_DEG)


@pytest.mark.parametrize("tone", ["negative", "positive"])
@pytest.mark.parametrize("overlap", [0.0, 0.5, 2.0, -4.0])
def test_touching_overlapping_and_wide_apart_frames_are_right_or_not_found(tone, overlap):
    gaps = ((2, FrameSpec(overlap_mm=overlap)),)
    found, truth, scale, _ = looked("120-6x6", tone, overrides=gaps, shrinkage=0.01)
    if found.found:
        assert max(sides_off(found, truth, scale)) < NEAR_MM + EDGE_MM
