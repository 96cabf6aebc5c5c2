"""The film's base, from clear film and from beside a picture."""

from __future__ import annotations

import numpy as np
import pytest

from rigd.imaging import Raw
from rigd.imaging.base import base_beside, base_level
from rigd.imaging.planes import Reduced, for_judging

BLACK, WHITE = 512.0, 16383.0
# Stops under saturation of R, G, B: a masked base (CHECK-VALUES e16: 1.495 and 2.325 stops apart).
BASE = (-1.0, -2.495, -3.325)


def mosaic(levels: np.ndarray) -> Raw:
    """A raw of levels in stops over the cells (h, w), every channel at its own distance to red."""
    height, width = levels.shape
    full = np.zeros((2 * height, 2 * width))
    for place, channel in enumerate((0, 1, 1, 2)):
        full[place // 2 :: 2, place % 2 :: 2] = levels + BASE[channel] - BASE[0]
    noise = np.random.default_rng(5).normal(0.0, 4.0, full.shape)
    signal = BLACK + np.exp2(full) * (WHITE - BLACK) + noise
    values = np.clip(np.rint(signal), 0, WHITE).astype(np.uint16)
    return Raw(values, (0, 1, 1, 2), (BLACK,) * 4, WHITE, False, 1 / 32, 8.0, 100.0, None)


def test_clear_film_is_measured_for_one_second() -> None:
    found = base_level(mosaic(np.full((300, 400), BASE[0])), 1 / 32)
    assert isinstance(found, tuple)
    assert found == pytest.approx([level + 5.0 for level in BASE], abs=0.02)


@pytest.mark.parametrize(("level", "word"), [(0.5, "full"), (-12.0, "dark")])
def test_what_cannot_be_measured_is_told(level: float, word: str) -> None:
    assert base_level(mosaic(np.full((300, 400), level)), 1 / 32) == word


def test_a_picture_is_no_clear_film() -> None:
    assert base_level(mosaic(np.tile(np.linspace(-6.0, -2.0, 400), (300, 1))), 1 / 32) == "picture"


def framed(left: float, right: float) -> Reduced:
    """A picture between base of its left and right side, at these levels of red."""
    levels = np.full((300, 400), -4.0)
    levels += np.random.default_rng(6).uniform(-1.5, 1.5, levels.shape)
    levels[:, :60], levels[:, 340:] = left, right
    return for_judging(mosaic(levels))


CORNERS = ((120.0, 20.0), (680.0, 20.0), (680.0, 580.0), (120.0, 580.0))


def test_the_base_beside_a_picture_is_found_on_the_lighter_side() -> None:
    found = base_beside(framed(-1.0, -3.0), CORNERS, 20.0, True)
    assert found == pytest.approx(BASE, abs=0.05)


def test_a_burnt_out_or_uneven_neighbourhood_tells_nothing() -> None:
    assert base_beside(framed(0.3, 0.3), CORNERS, 20.0, True) is None
    wide = ((60.0, 20.0), (740.0, 20.0), (740.0, 580.0), (60.0, 580.0))
    inside = ((200.0, 20.0), (600.0, 20.0), (600.0, 580.0), (200.0, 580.0))
    assert base_beside(framed(-1.0, -1.0), wide, 20.0, True) is not None
    assert base_beside(framed(-1.0, -1.0), inside, 20.0, True) is None
