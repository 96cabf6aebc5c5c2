"""The picture is found by its sides, in every format and tone; nothing is found where nothing is."""

from __future__ import annotations

from math import log2

import numpy as np
import pytest

from rigd.imaging import Raw
from rigd.imaging.framing import find_frame
from rigd.imaging.placement import placement
from rigd.imaging.planes import for_judging
from rigd.model.formats import film_format
from rigd.model.words import Tone
from rigd_sim.scene import FrameSpec, Scene, SceneSpec

BLACK, WHITE = 512.0, 16383.0
SECONDS = {"negative": 1 / 40, "positive": 1 / 20}


class Sight:
    """What the camera sees of one simulated roll, and where things truly lie."""

    def __init__(self, **spec):
        self.time = 0.0
        self.scene = Scene(SceneSpec(2, script="plain", **spec), lambda: self.time)
        self.tone = self.scene.spec.tone
        self.seconds = SECONDS[self.tone]
        lamp = self.raw(1 / 2000)
        middle = lamp.mosaic[500:600:2, 800:900:2], lamp.mosaic[500:600:2, 801:901:2], lamp.mosaic[501:601:2, 801:901:2]
        share = [(float(np.median(m)) - BLACK) / (WHITE - BLACK) for m in middle]
        self.lamp = tuple(log2(s) + log2(2000 * self.seconds) for s in share)

    def raw(self, seconds: float) -> Raw:
        mosaic = self.scene.expose(self.time, seconds, 8.0, 100)
        return Raw(mosaic, (0, 1, 1, 2), (BLACK,) * 4, WHITE, False, seconds, 8.0, 100.0, None)

    def find(self, frame: int = 1, off_mm: float = 0.0, known: bool = True):
        self.scene.lay(1)
        self.scene.slide(frame=frame, off_mm=off_mm, seconds=0.0)
        self.time += 60.0
        scale = self.scene.truth()["px_per_mm"] if known else None
        film = film_format(self.scene.spec.film_format)
        return find_frame(for_judging(self.raw(self.seconds)), film, Tone(self.tone), scale, None, self.lamp)

    def off_mm(self, found) -> float:
        """The worst corner against the nearest true picture."""
        truth = self.scene.truth()
        corners = np.array(found.corners)
        return min(np.abs(corners - np.array(f["corners_px"])).max() for f in truth["frames"]) / truth["px_per_mm"]


@pytest.fixture
def sights():
    made: list[Sight] = []

    def make(**spec) -> Sight:
        made.append(Sight(**spec))
        return made[-1]

    yield make
    for sight in made:
        sight.scene.close()


ROLLS = ["6x4.5", "6x6", "6x7", "6x8", "6x9", "6x12", "6x17"]
FORMATS = ["135", "135-half", "135-24x65", *(f"120-{name}" for name in ROLLS)]


@pytest.mark.parametrize("name", [*FORMATS, "sheet-4x5"])
@pytest.mark.parametrize(("tone", "colour"), [("negative", "mono"), ("negative", "colour"), ("positive", "colour")])
def test_every_format_is_found(sights, name, tone, colour):
    sight = sights(film_format=name, tone=tone, colour=colour, frames=3, strip=None)
    found = sight.find()
    assert found.sides_seen >= 3
    # 2 MP show 4x5 in with 10 px a mm, in blocks of two. A side that is not seen is put where the format says, and
    # cameras' gates differ from that by some per cent.
    near = 0.5 if name == "sheet-4x5" else 0.3
    assert sight.off_mm(found) < (near if found.sides_seen == 4 else 0.02 * film_format(name).along_mm)


@pytest.mark.parametrize("turn", [-1.0, 0.0, 0.7])
def test_turn_and_offset_are_measured(sights, turn):
    sight = sights(film_format="120-6x6", frames=2, rotation_deg=turn)
    found = sight.find(off_mm=-2.0)
    lies = placement(found.corners, (1728, 1152), found.px_per_mm)
    assert lies.turn_deg == pytest.approx(turn, abs=0.1)
    assert lies.offset_mm[0] == pytest.approx(2.0, abs=0.15)
    assert lies.cut_pct == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("shrinkage", [0.0, 0.01])
def test_perforations_measure_the_scale(sights, shrinkage):
    sight = sights(film_format="135", frames=2, shrinkage=shrinkage)
    found = sight.find()
    # Shrunk film has a shorter pitch: by that ruler the scale is smaller.
    assert found.by_perforations / found.px_per_mm == pytest.approx(1 - shrinkage, abs=0.002)


def test_the_scale_is_found_where_it_is_not_known(sights):
    sight = sights(film_format="135", frames=2)
    found = sight.find(known=False)
    assert found.found
    assert found.px_per_mm == pytest.approx(sight.scene.truth()["px_per_mm"], rel=0.005)


@pytest.mark.parametrize("tone", ["negative", "positive"])
def test_no_edges_are_made_up_on_a_blank(sights, tone):
    roll = ((2, FrameSpec("unexposed")),)
    colour = "mono" if tone == "negative" else "colour"
    sight = sights(film_format="120-6x6", tone=tone, colour=colour, frames=3, overrides=roll)
    assert not sight.find(2).found


def test_a_picture_far_off_its_place_is_placed_right(sights):
    sight = sights(film_format="135", frames=3)
    found = sight.find(2, off_mm=6.0)
    lies = placement(found.corners, (1728, 1152), found.px_per_mm)
    assert lies.offset_mm[0] == pytest.approx(-6.0, abs=0.5)
    assert found.sides_seen == 3
