"""Live view, truth, rolls, speed of being ready, and a clean end."""

from __future__ import annotations

import json
import threading

import numpy as np
import pytest

from rigd_sim.scene import FrameSpec, Scene, SceneSpec
from rigd_sim.scene.formats import FORMATS, format_named


def test_a_live_view_has_the_size_asked_for(open_scene):
    scene = open_scene()
    scene.lay(1)
    for width in (320, 640, 960, 1280):
        picture = scene.preview(0.0, width)
        assert picture.shape == (round(width * 2 / 3), width, 3)
        assert picture.dtype == np.uint8
    with pytest.raises(ValueError, match="px wide"):
        scene.preview(0.0, 10)


def test_a_live_view_follows_the_exposure_or_does_not(open_scene):
    scene = open_scene()
    scene.lay(1)

    def mean(seconds, gain):
        return scene.preview(0.0, 320, seconds, 8.0, 100, gain)[60:150, 100:220].mean()

    assert mean(1 / 15, "follow") / mean(1 / 60, "follow") == pytest.approx(2.0, rel=0.05)  # a square-root tone curve
    assert mean(1 / 15, "auto") == pytest.approx(mean(1 / 250, "auto"), rel=0.03)


def test_live_view_and_exposure_see_the_same_picture(open_scene):
    scene = open_scene(rotation_deg=1.0)
    scene.lay(1)
    small = scene.preview(0.0, 864)[:, :, 1].astype(float)
    mosaic = scene.expose(0.0, 1 / 30, 8.0, 100)[::2, 1::2].astype(float)
    assert np.corrcoef(small.ravel(), np.sqrt(np.maximum(mosaic - 512, 0)).ravel())[0, 1] > 0.98


def test_live_views_differ_by_noise_alone(open_scene):
    scene = open_scene()
    scene.lay(1)
    a, b = (scene.preview(t).astype(float) for t in (0.0, 0.1))
    assert 0.05 < (a - b).std() < 6


def test_the_demo_roll_has_its_odd_frames(open_scene):
    scene = open_scene()
    kinds = [f["kind"] for f in scene.truth()["roll"]]
    assert len(kinds) == 12
    assert sorted(set(kinds) - {"picture"}) == ["dense", "thin", "unexposed"]
    assert kinds.count("picture") == 9


@pytest.mark.parametrize(
    ("tone", "dense", "thin"), [("negative", (1.5, 2.5), (-1.7, -1.0)), ("positive", (1.2, 2.9), (-1.7, -0.6))]
)
def test_odd_frames_need_other_exposures(open_scene, tone, dense, thin):
    """Dense: about two stops more than an ordinary frame; thin: about one less or more (contrasty positives vary)."""
    scene = open_scene(tone=tone)
    times = {}
    for strip in (1, 2, 3):
        scene.lay(strip)
        times |= {f["number"]: (f["kind"], f["right_seconds"]) for f in scene.truth()["frames"]}
    ordinary = np.median([t for kind, t in times.values() if kind == "picture"])
    odd = {kind: np.log2(t / ordinary) for kind, t in times.values() if kind in ("dense", "thin")}
    assert dense[0] < odd["dense"] < dense[1]
    assert thin[0] < odd["thin"] < thin[1]
    assert 1 / 60 < ordinary < 1 / 15
    assert [t for kind, t in times.values() if kind == "unexposed"] == [None]


def test_the_truth_can_be_sent(open_scene):
    scene = open_scene()
    scene.lay(1)
    truth = json.loads(json.dumps(scene.truth()))
    assert [f["number"] for f in truth["frames"]] == [1, 2, 3, 4]
    assert len(truth["frames"][0]["corners_px"]) == 4


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_fits_the_sensor_and_shows_its_surroundings(name):
    from rigd_sim.scene.optics import Optics

    form, optics = format_named(name), Optics(SceneSpec(megapixels=2, film_format=name))
    px = optics.px_per_mm
    assert form.along * px < 1728
    assert form.across * px < 1152
    if not form.single:
        assert optics.gate_mm[0] > form.along + 2 * form.gap, "the neighbours' edges show"
        assert form.across < optics.gate_mm[1] <= form.film, "rebate shows"


@pytest.mark.parametrize(
    "options",
    [{"megapixels": 25}, {"tone": "both"}, {"colour": "red"}, {"script": "x"}, {"frames": 0}],
)
def test_a_spec_that_makes_no_sense_is_refused(options):
    with pytest.raises(ValueError, match=r"is one of|is negative|is mono|is harbour|at least"):
        SceneSpec(**options)
    with pytest.raises(ValueError, match="unknown kind"):
        FrameSpec("odd")
    with pytest.raises(ValueError, match="unknown film format"):
        format_named("8mm")


def test_closing_ends_every_thread():
    before = set(threading.enumerate())
    with Scene(SceneSpec(megapixels=2), now=lambda: 0.0) as scene:
        scene.lay(1)
        scene.slide(frame=2)
        scene.expose(0.0, 1 / 60, 8.0, 100)
        assert len(threading.enumerate()) > len(before)
    assert set(threading.enumerate()) == before


def test_hasty_hands_leave_the_right_field(open_scene, clock):
    """Many moves in a row: only the last place counts, and the exposure is of it."""
    scene = open_scene()
    scene.lay(1)
    for frame in (2, 3, 4, 1, 4, 2):
        scene.slide(frame=frame, seconds=0.1)
    clock.t = 30.0
    scene.prepare()
    hasty = scene.expose(30.0, 1 / 30, 8.0, 100)[::2, 1::2].astype(float).ravel()
    calm = open_scene()
    calm.lay(1)
    calm.slide(frame=2, seconds=0.0)
    assert np.corrcoef(hasty, calm.expose(30.0, 1 / 30, 8.0, 100)[::2, 1::2].astype(float).ravel())[0, 1] > 0.999
