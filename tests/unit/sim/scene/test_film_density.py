"""Densities: the characteristic curve, base, mask, black, and what is on the film."""

from __future__ import annotations

import numpy as np
import pytest

from rigd_sim.scene import FrameSpec
from rigd_sim.scene.curve import STOCKS, Curve
from rigd_sim.scene.development import fog_bands, granularity_per_px
from rigd_sim.scene.sensor import BLACK, CFA, REFERENCE_FILL, WHITE

BOX = (slice(480, 680), slice(760, 960))  # sensor px in the middle of the frame


def density(scene, seconds=1 / 30, box=BOX):
    """Measured density of each Bayer channel (R, G, B), from the mosaic and the bare lamp's known fill."""
    part = scene.expose(20.0, seconds, 8.0, 100)[box].astype(float) - BLACK
    full = (WHITE - BLACK) * REFERENCE_FILL * seconds * 30
    planes = (part[::2, ::2], part[::2, 1::2], part[1::2, 1::2])
    return np.array([-np.log10(p.mean() / full / c) for p, c in zip(planes, CFA, strict=True)])


def test_straight_line_of_the_curve_has_slope_gamma():
    curve = Curve(0.3, 0.62, -0.95, 2.0)
    h = np.array([0.2, 0.7])
    low, high = curve.density(h)
    assert (high - low) / 0.5 == pytest.approx(0.62, rel=1e-3)


def test_the_curve_has_a_toe_and_a_shoulder():
    curve = Curve(0.3, 0.62, -0.95, 2.0)
    d = curve.density(np.linspace(-4, 5, 901))
    slope = np.gradient(d, 0.01)
    assert d[0] == pytest.approx(0.30, abs=1e-6)
    assert d[-1] == pytest.approx(curve.high, abs=1e-6)
    assert slope[0] < 0.001
    assert slope[-1] < 0.001
    assert (np.diff(d) > -1e-12).all()


def test_mono_negative_contrast_is_that_of_ordinary_development():
    """ISO 6: from 0.10 above base + fog, 1.30 more log exposure bring 0.80 density (geometry second-hand, V2)."""
    curve = STOCKS["negative", "mono"].layers[0]
    h = np.linspace(-3, 3, 60001)
    d = curve.density(h) - curve.low
    start = h[np.searchsorted(d, 0.10)]
    assert np.interp(start + 1.30, h, d) - 0.10 == pytest.approx(0.80, abs=0.05)


@pytest.mark.parametrize(
    ("tone", "colour", "densities", "seconds"),
    [
        ("negative", "mono", (0.30, 0.30, 0.30), 1 / 60),
        ("negative", "colour", (0.20, 0.65, 0.90), 1 / 60),
    ],
)
def test_unexposed_negative_is_base(open_scene, tone, colour, densities, seconds):
    """Base + fog 0.30 D of mono, 0.20/0.65/0.90 of masked colour film (values from memory)."""
    scene = open_scene(
        tone=tone, colour=colour, dust=0.0, falloff=0.0, stray=0.0, overrides=((1, FrameSpec("unexposed")),)
    )
    scene.lay(1)
    assert density(scene, seconds) == pytest.approx(densities, abs=0.01)


@pytest.mark.parametrize("colour", ["mono", "colour"])
def test_unexposed_positive_is_black(open_scene, colour):
    """Reversal film: black approaches 4 D (FADGI 2016); ours is above 3."""
    scene = open_scene(tone="positive", colour=colour, dust=0.0, stray=0.0, overrides=((1, FrameSpec("unexposed")),))
    scene.lay(1)
    assert density(scene, 4.0).min() > 3.0


@pytest.mark.parametrize("tone", ["negative", "positive"])
def test_a_picture_given_from_outside_follows_the_curve(open_scene, tone):
    """Two patches 1.0 in log exposure apart differ in density as the curve says."""
    picture = np.full((40, 40), 0.5)
    picture[:, :20] = 0.05
    scene = open_scene(
        tone=tone, grain=0.0, dust=0.0, falloff=0.0, stray=0.0, overrides=((1, FrameSpec(picture=picture)),)
    )
    scene.lay(1)
    dark, light = (density(scene, 1 / 30, (slice(500, 650), slice(x, x + 150)))[1] for x in (640, 940))
    curve = STOCKS[tone, "mono"].layers[0]
    wanted = curve.density(np.log10(np.array([0.05, 0.5]) / 0.18))
    assert (dark, light) == pytest.approx(tuple(wanted), abs=0.012)


def test_exposure_stops_shift_the_density(open_scene):
    """At a gamma of 0.62 a stop is 0.62 x 0.301 D."""
    picture = np.full((8, 8), 0.18)
    pairs = ((1, FrameSpec(picture=picture)), (2, FrameSpec(picture=picture, stops=2.0)))
    scene = open_scene(grain=0.0, dust=0.0, falloff=0.0, stray=0.0, overrides=pairs)
    scene.lay(1)
    normal = density(scene)[1]
    scene.slide(frame=2, seconds=0.0)
    assert density(scene)[1] - normal == pytest.approx(2 * 0.30103 * 0.62, abs=0.015)


def test_open_gate_is_brighter_than_clear_base(open_scene):
    scene = open_scene(overrides=((1, FrameSpec("unexposed")),), falloff=0.0)
    open_gate = density(scene, 1 / 60)
    scene.lay(1)
    assert open_gate == pytest.approx(0.0, abs=0.01)
    assert (density(scene, 1 / 60) - open_gate > 0.25).all()


def test_pictures_differ_from_frame_to_frame(open_scene):
    scene = open_scene(script="plain")
    seen = []
    for strip in (1, 2, 3):
        scene.lay(strip)
        for frame in (1, 2, 3, 4):
            scene.slide(frame=frame, seconds=0.0)
            seen.append(scene.expose(0.0, 1 / 30, 8.0, 100)[300:860, 580:1140][::4, 1::4].astype(float).ravel())
    matrix = np.corrcoef(seen)
    assert (matrix[~np.eye(12, dtype=bool)] < 0.9).all()


def test_grain_follows_selwyn():
    """Rms density x root of the area is constant while a pixel holds many grains (Selwyn's law)."""
    coarse, fine = granularity_per_px(11.0, 2.0), granularity_per_px(11.0, 4.0)
    assert fine / coarse == pytest.approx(2.0, rel=0.01)
    assert granularity_per_px(11.0, 1 / np.sqrt(np.pi * 0.024**2)) == pytest.approx(0.011, rel=0.1)


def test_grain_lies_still_on_the_film(open_scene):
    """Photographed twice at two places of the gate, the same grain shows."""
    scene = open_scene(megapixels=12, dust=0.0, rotation_deg=0.0, tilt_deg=(0.0, 0.0), falloff=0.0,
                       overrides=((1, FrameSpec(picture=np.full((4, 4), 0.18))),))  # fmt: skip
    scene.lay(1)
    here = scene.expose(0.0, 1 / 30, 8.0, 100)[1200:1500, 2000:2300].astype(float)
    shift = 100  # px, even: the colour filter must match
    scene.slide(to_mm=scene.motion.position(0.0) + shift / scene.optics.px_per_mm, seconds=0.0)
    there = scene.expose(1.0, 1 / 30, 8.0, 100)[1200:1500, 2000 - shift : 2300 - shift].astype(float)
    green = [p[::2, 1::2].ravel() for p in (here, there)]
    assert np.corrcoef(*green)[0, 1] > 0.5


@pytest.mark.parametrize(("share", "near", "far"), [(1.0, True, True), (0.4, True, False)])
def test_fog_reaches_as_far_as_it_is_told_to(share, near, far):
    bands = fog_bands(1000, 5.0, share)
    assert bands[0][0] == 0
    assert bands[-1][1] == 1000
    strength = {begin: fog for begin, _, fog in bands}
    at = sorted(strength)
    assert (strength[at[len(at) // 8]] > 1.0) is near
    assert (strength[at[7 * len(at) // 8]] > 1.0) is far


def test_fogged_film_is_dark_on_a_negative_and_clear_on_a_positive(open_scene):
    negative = open_scene(dust=0.0, overrides=((1, FrameSpec("fogged")),))
    negative.lay(1)
    assert density(negative, 1 / 4)[1] > 1.5
    positive = open_scene(tone="positive", dust=0.0, overrides=((1, FrameSpec("fogged")),))
    positive.lay(1)
    assert density(positive, 1 / 60)[1] < 0.15
