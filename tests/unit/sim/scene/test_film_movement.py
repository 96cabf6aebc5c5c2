"""The film moves as it was told to, and what the devices see moves with it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from rigd_sim.scene import FrameSpec
from rigd_sim.scene.motion import minimum_jerk


def shift_between(a, b):
    """Displacement (x, y) of b against a in px, by phase correlation."""
    planes = [p[100:540, 200:760, 1].astype(np.float32) for p in (a, b)]
    (x, y), _ = cv2.phaseCorrelate(*planes, cv2.createHanningWindow((560, 440), cv2.CV_32F))
    return x, y


def test_minimum_jerk_starts_and_ends_at_rest():
    """Flash and Hogan's polynomial: ends fixed, no speed and no acceleration there, peak speed 15/8 of the mean."""
    s = np.linspace(0, 1, 10001)
    way = minimum_jerk(s)
    speed = np.gradient(way, s)
    assert (way[0], way[-1]) == (0.0, 1.0)
    assert speed[[0, -1]] == pytest.approx(0.0, abs=1e-3)
    assert speed.max() == pytest.approx(15 / 8, rel=1e-6)
    assert (minimum_jerk(np.array([-3.0, 4.0])) == [0.0, 1.0]).all()


def test_a_slide_takes_its_time_and_rests_at_the_frame(open_scene, clock):
    scene = open_scene()
    scene.lay(1)
    first, second = (f["centre_mm"] for f in scene.truth()["frames"][:2])
    scene.slide(frame=2, seconds=2.0)
    positions = [scene.motion.position(t) for t in np.linspace(0, 2, 21)]
    assert positions[0] == pytest.approx(first)
    assert positions[10] == pytest.approx((first + second) / 2)
    assert (np.diff(positions) > 0).all()
    clock.t = 1.0
    assert scene.truth()["moving"] is True
    clock.t = 2.5
    assert scene.truth()["moving"] is False
    assert scene.truth()["position_mm"] == pytest.approx(second)


def test_a_slide_can_miss_and_can_be_taken_over(open_scene, clock):
    scene = open_scene()
    scene.lay(1)
    scene.slide(frame=2, off_mm=1.5, seconds=1.0)
    clock.t = 0.5
    halfway = scene.motion.position(0.5)
    scene.slide(to_mm=halfway, seconds=0.0)
    clock.t = 5.0
    assert scene.truth()["position_mm"] == pytest.approx(halfway)
    assert scene.motion.position(0.25) < halfway, "the past stays readable"


def test_a_strip_glides_in_and_out(open_scene, clock):
    scene = open_scene()
    assert scene.truth()["strip"] is None
    scene.lay(2, seconds=1.0)
    clock.t = 0.5
    assert scene.truth()["strip"] == 2
    assert scene.truth()["moving"] is True
    clock.t = 3.0
    scene.lay(None, seconds=1.0)
    clock.t = 3.5
    assert scene.truth()["strip"] == 2
    clock.t = 4.5
    assert scene.truth()["strip"] is None


@pytest.mark.parametrize("order", [lambda s: s.lay(9), lambda s: s.slide(frame=1), lambda s: s.lay(0)])
def test_what_can_not_be_is_refused(open_scene, order):
    with pytest.raises(ValueError, match=r"strips 1 to 3|no film"):
        order(open_scene())


def test_no_such_frame_on_the_strip(open_scene):
    scene = open_scene()
    scene.lay(1)
    with pytest.raises(ValueError, match="frames 1 to 4"):
        scene.slide(frame=5)


def test_the_live_view_follows_the_film(open_scene, clock):
    """1 mm of film is px/mm x live-view scale pixels, towards smaller x."""
    scene = open_scene(rotation_deg=0.0, tilt_deg=(0.0, 0.0))
    scene.lay(1)
    before = scene.preview(0.0)
    scene.slide(to_mm=scene.motion.position(0.0) + 0.5, seconds=0.0)
    x, y = shift_between(before, scene.preview(1.0))
    assert x == pytest.approx(-0.5 * scene.optics.px_per_mm * 960 / 1728, abs=0.15)
    assert y == pytest.approx(0.0, abs=0.1)


def test_the_live_view_shows_the_vibration_of_the_instant(open_scene, clock):
    scene = open_scene(vibration_deg=90.0, tilt_deg=(0.0, 0.0), rotation_deg=0.0)
    scene.lay(1)
    still = scene.preview(0.0)
    scene.kick(200.0)
    quarter = 0.25 / scene.spec.vibration_hz
    clock.t = quarter
    moved_um = scene.truth()["displacement_um"]
    x, y = shift_between(still, scene.preview(quarter))
    assert y == pytest.approx(moved_um[1] / 1000 * scene.optics.px_per_mm * 960 / 1728, abs=0.15)
    assert x == pytest.approx(0.0, abs=0.1)


def test_a_moving_film_is_smeared_in_the_exposure(open_scene, clock):
    """Upright stripes go while the film moves 20 mm, and are back when it rests; lying stripes stay throughout."""
    upright = np.tile(np.array([[0.1] * 2 + [0.5] * 2]), (240, 60))
    frames = ((1, FrameSpec(picture=upright)), (2, FrameSpec(picture=upright.T)))
    scene = open_scene(grain=0.0, dust=0.0, rotation_deg=0.0, overrides=frames)

    def contrast(axis, start):
        part = scene.expose(start, 1 / 30, 8.0, 100)[500:600, 800:900][::2, 1::2].astype(float) - 512
        return np.ptp(part.mean(axis=axis)) / part.mean()

    for frame, axis, lost in ((1, 0, True), (2, 1, False)):
        clock.t += 10.0
        scene.lay(1)
        scene.slide(frame=frame, off_mm=-10.0, seconds=0.0)
        still = contrast(axis, clock.t)
        scene.slide(frame=frame, off_mm=10.0, seconds=1.0)
        assert bool(contrast(axis, clock.t + 0.48) < 0.3 * still) is lost
        assert contrast(axis, clock.t + 9.0) == pytest.approx(still, rel=0.1)


def test_a_kick_smears_and_dies_away(open_scene, clock):
    scene = open_scene(film_format="135", megapixels=2, grain=0.0, dust=0.0)
    scene.lay(1)
    scene.slide(frame=2, seconds=0.0)
    still = scene.expose(0.0, 1 / 10, 8.0, 100)
    clock.t = 1.0
    scene.kick(120.0)

    def spread(mosaic):
        return (mosaic.astype(float) - still)[300:850, 400:1300].std()

    noise = spread(scene.expose(0.5, 1 / 10, 8.0, 100))
    assert spread(scene.expose(1.0, 1 / 10, 8.0, 100)) > 1.5 * noise
    assert spread(scene.expose(8.0, 1 / 10, 8.0, 100)) < 1.05 * noise


def test_the_end_of_a_slide_knocks_a_little(open_scene, clock):
    scene = open_scene(slide_kick_um=5.0)
    scene.lay(1)
    scene.slide(frame=2, seconds=1.0)
    assert scene.vibration.envelope_um(0.9) == 0.0
    assert scene.vibration.envelope_um(1.001) == pytest.approx(5.0, rel=0.01)
