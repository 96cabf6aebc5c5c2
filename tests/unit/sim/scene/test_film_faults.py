"""Faults on demand: each shows where and how it should."""

from __future__ import annotations

import numpy as np
import pytest

from rigd_sim.scene import FrameSpec
from rigd_sim.scene.exposing import encode_luminance
from rigd_sim.scene.lamp import Lamp
from rigd_sim.scene.sensor import BLACK

GREY = np.full((8, 8), 0.18)


def green(scene, at=0.0, seconds=1 / 30):
    """The mosaic's green pixels of even rows, above black, (576, 864) float."""
    return scene.expose(at, seconds, 8.0, 100)[::2, 1::2].astype(float) - BLACK


def test_touching_and_overlapping_frames(open_scene):
    def starts(overlap):
        scene = open_scene(spacing_mm=0.0, shrinkage=0.0, overrides=((2, FrameSpec(overlap_mm=overlap)),))
        one, two = scene.strips[0].frames[:2]
        return two.start - one.end

    assert starts(0.0) == pytest.approx(0.0, abs=1.0)  # the taking camera's gate is not exactly nominal
    assert starts(5.0) == pytest.approx(starts(0.0) - 5.0)


def test_where_frames_overlap_exposures_add_up(open_scene):
    pair = ((1, FrameSpec(picture=GREY)), (2, FrameSpec(picture=GREY, overlap_mm=6.0)))
    scene = open_scene(overrides=pair, grain=0.0, dust=0.0, falloff=0.0, stray=0.0, frames=4)
    scene.lay(1)
    first, second = scene.strips[0].frames[:2]
    both = (first.end + second.start) / 2
    scene.slide(to_mm=both, seconds=0.0)
    strip = green(scene)[260:300].mean(axis=0)
    px = scene.optics.px_per_mm / 2
    middle, beside = strip[432], strip[round(432 + 8 * px)]
    assert np.log10(beside / middle) == pytest.approx(0.62 * np.log10(2.0), abs=0.01)


def test_a_hair_keeps_light_from_the_film(open_scene):
    scene = open_scene(overrides=((1, FrameSpec(picture=GREY, hair=10.0)), (2, FrameSpec(picture=GREY))), dust=0.0,
                       megapixels=12)  # fmt: skip
    scene.lay(1)
    part = (slice(900, 2300), slice(1300, 2900))  # within the frame, down to near its lower edge

    def clear():
        picture = scene.expose(0.0, 1 / 30, 8.0, 100)[part].astype(float)[::2, 1::2]
        return (picture > 1.5 * np.median(picture)).sum()

    with_hair = clear()
    scene.slide(frame=2, seconds=0.0)
    assert with_hair > 40
    assert clear() < with_hair / 20


def test_curled_film_is_soft_in_the_middle_and_sharp_at_the_edges(open_scene):
    stripes = np.tile(np.array([[0.1] * 2 + [0.5] * 2]), (8, 60))
    pair = ((1, FrameSpec(picture=stripes)), (2, FrameSpec(picture=stripes, curl_px=12.0)))
    scene = open_scene(overrides=pair, grain=0.0, dust=0.0)
    scene.lay(1)

    def contrast(place):
        lines = green(scene)[280:300].mean(axis=0)[place]
        return np.ptp(lines) / lines.mean()

    middle, edge = slice(400, 464), slice(190, 212)
    flat = contrast(middle), contrast(edge)
    scene.slide(frame=2, seconds=0.0)
    assert contrast(middle) < 0.8 * flat[0]
    assert contrast(edge) == pytest.approx(flat[1], rel=0.1)


def test_rings_ripple_the_light(open_scene):
    pair = ((1, FrameSpec(picture=GREY, rings=0.15)), (2, FrameSpec(picture=GREY)))
    scene = open_scene(overrides=pair, grain=0.0, dust=0.0, falloff=0.0)
    scene.lay(1)
    box = (slice(200, 376), slice(300, 564))

    def ripple():
        part = green(scene)[box]
        return part.std() / part.mean()

    ringed = ripple()
    scene.slide(frame=2, seconds=0.0)
    assert ringed > 3 * ripple()


def test_dust_is_as_much_as_asked_for(open_scene):
    def dark(amount):
        scene = open_scene(dust=amount, overrides=((1, FrameSpec("unexposed")),), seed=4)
        scene.lay(1)
        part = green(scene)[60:516, 200:660]
        return (part < 0.6 * np.median(part)).sum()

    assert dark(0.0) == 0
    assert dark(30.0) > 20


def test_a_supplied_picture_must_have_a_picture_s_shape():
    with pytest.raises(ValueError, match="not"):
        encode_luminance(np.zeros((2, 2, 4)), 10, 10, 1)
    assert encode_luminance(np.full((2, 2, 3), 0.18), 10, 12, 3).shape == (10, 12, 3)


def test_adjusting_the_rig(open_scene):
    scene = open_scene(overrides=((1, FrameSpec(picture=np.tile([[0.1, 0.5]], (8, 40)))),), grain=0.0, dust=0.0)
    scene.lay(1)
    sharp = np.abs(np.diff(green(scene)[200:300, 300:500])).mean()
    scene.adjust(defocus_px=25.0)
    assert np.abs(np.diff(green(scene)[200:300, 300:500])).mean() < 0.8 * sharp
    with pytest.raises(ValueError, match="can't adjust seed"):
        scene.adjust(seed=3)


@pytest.mark.parametrize(
    ("hertz", "seconds", "residue"), [(100, 1 / 30, 0.0827), (100, 1 / 125, 0.2339), (120, 1 / 250, 0.6618)]
)
def test_flicker_that_is_left_after_an_exposure(hertz, seconds, residue):
    """|sinc(f t)| of the lamp's depth, values computed from the formula; zero where f t is an integer."""
    lamp = Lamp(hertz, 0.3)
    means = [lamp.mean(start, seconds) for start in np.linspace(0, 1 / hertz, 400, endpoint=False)]
    assert (max(means) - min(means)) / 2 == pytest.approx(0.3 * residue, rel=2e-3)
    assert lamp.mean(0.123, 3 / hertz) == pytest.approx(1.0)


def test_a_slit_shutter_makes_bands_of_a_rippling_lamp(open_scene):
    """Bands across the frame = ripple frequency x readout time."""
    scene = open_scene(flicker_hz=100.0, flicker_depth=0.2, readout_ms=50.0, film_format="120-6x9", falloff=0.0)
    rows = green(scene, seconds=1 / 500)[100:476, 300:500].mean(axis=1)
    spectrum = np.abs(np.fft.rfft(rows - rows.mean()))
    assert spectrum.argmax() == round(5 * len(rows) / 576)
    assert np.ptp(rows) / rows.mean() == pytest.approx(2 * 0.2 * np.sinc(0.2), rel=0.1)


def test_a_lamp_warms_up():
    lamp = Lamp(warm_up=0.1)
    lamp.set(0.0, 1.0)
    assert lamp.level(0.0) == pytest.approx(1.0)  # it has been on for ever
    lamp.set(10.0, 0.0)
    lamp.set(20.0, 1.0)
    lamp.set(30.0, 0.5)
    assert lamp.level(20.0) == pytest.approx(1.1)
    assert lamp.level(20.0 + 90.0) == pytest.approx(0.5 * (1 + 0.1 / np.e))
