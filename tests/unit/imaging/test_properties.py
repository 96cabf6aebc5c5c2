"""Laws that hold for any picture: brightness moves levels by exactly its stops, turning moves the corners with it, and
noise alone never makes a picture look unexposed."""

from __future__ import annotations

from math import log2

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigd.imaging import Asked, Raw, judge
from rigd.imaging.framing import find_frame
from rigd.imaging.levels import histogram
from rigd.imaging.planes import Reduced, for_judging
from rigd.model.formats import film_format
from rigd.model.values import Exposure
from rigd.model.words import Colour, Film, Tone
from rigd_sim.scene import Scene, SceneSpec

BLACK, WHITE = 512, 16383
SHAPE = (384, 512)


def raw_of(linear: np.ndarray) -> Raw:
    mosaic = np.clip(np.rint(BLACK + linear * (WHITE - BLACK)), 0, WHITE).astype(np.uint16)
    return Raw(mosaic, (0, 1, 1, 2), (float(BLACK),) * 4, float(WHITE), False, 1 / 30, 8.0, 100.0, None)


def picture(seed: int, contrast: float) -> np.ndarray:
    """Shapes on an even ground, in shares of saturation."""
    rng = np.random.default_rng(seed)
    levels = np.full(SHAPE, -2.0)
    for _ in range(8):
        y, x = rng.integers(0, SHAPE[0] - 80), rng.integers(0, SHAPE[1] - 80)
        levels[y : y + rng.integers(40, 80), x : x + rng.integers(40, 80)] -= rng.uniform(0.4, 1.0) * contrast
    return np.exp2(levels)


@settings(deadline=None, max_examples=25)
@given(seed=st.integers(0, 999), stops=st.floats(-3.0, 1.5))
def test_brightness_moves_levels_by_exactly_its_stops(seed, stops):
    light = picture(seed, 1.5)
    one, two = (histogram(raw_of(part), (0, 0, SHAPE[1], SHAPE[0])) for part in (light, light * 2.0**stops))
    for share in (0.05, 0.5, 0.95):
        # Raw values are whole numbers: at four stops under saturation a half of one is a thousandth of a stop.
        assert two.point(1, share) - one.point(1, share) == pytest.approx(stops, abs=0.01)


@settings(deadline=None, max_examples=20)
@given(seed=st.integers(0, 999), contrast=st.floats(0.2, 2.0), noise=st.floats(0.0, 0.05))
def test_noise_alone_never_makes_a_picture_unexposed(seed, contrast, noise):
    light = picture(seed, contrast) + np.random.default_rng(seed).normal(0, noise, SHAPE)
    asked = Asked("120-6x6", Tone.NEGATIVE, Colour.MONO, Exposure(1 / 30, ""), 8.0, base_1s=(log2(30) - 2,) * 3)
    assert judge(raw_of(np.maximum(light, 0)), asked).verdict.film is not Film.UNEXPOSED


@pytest.fixture(scope="module")
def sight():
    """A simulated 6 x 9 with its scale."""
    with Scene(SceneSpec(2, "120-6x9", script="plain", frames=2, strip=2, rotation_deg=0.6), lambda: 60.0) as scene:
        scene.lay(1)
        mosaic = scene.expose(60.0, 1 / 40, 8.0, 100)
        scale = scene.optics.px_per_mm
    raw = Raw(mosaic, (0, 1, 1, 2), (512.0,) * 4, 16383.0, False, 1 / 40, 8.0, 100.0, None)
    return for_judging(raw), scale


def turned(small: Reduced, times: int) -> Reduced:
    return Reduced(np.ascontiguousarray(np.rot90(small.linear, -times)), small.step)


@pytest.mark.parametrize("times", [1, 2, 3])
def test_turning_the_image_turns_the_corners(sight, times):
    small, scale = sight
    film = film_format("120-6x9")
    here = np.array(find_frame(small, film, Tone.NEGATIVE, scale).corners)
    there = np.array(find_frame(turned(small, times), film, Tone.NEGATIVE, scale).corners)
    height, width = small.linear.shape[0] * small.step, small.linear.shape[1] * small.step
    for _ in range(times):
        here = np.stack([height - here[:, 1], here[:, 0]], axis=1)
        height, width = width, height
    off = [np.abs(there - corner).max(axis=1).min() for corner in here]
    assert max(off) < 0.1 * scale
