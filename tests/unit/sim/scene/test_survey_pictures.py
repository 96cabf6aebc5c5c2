"""The survey's pictures: the same at any size, other for every frame, rich at many scales."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from rigd_sim.scene.noise import cloud, fractal_tile, grain_tile, tiled
from rigd_sim.scene.pictures import draw_picture
from rigd_sim.scene.pictures.album import SCENES
from rigd_sim.scene.pictures.canvas import Canvas, code, grey


@pytest.mark.parametrize("number", range(1, len(SCENES) + 1))
def test_a_picture_looks_the_same_at_any_size(number):
    drawn = [draw_picture(1, number, rows, rows * 3 // 2, 1)[:, :, 0] for rows in (700, 1600)]
    small, large = (cv2.resize(d, (225, 150), interpolation=cv2.INTER_AREA).astype(float) for d in drawn)
    assert np.corrcoef(small.ravel(), large.ravel())[0, 1] > 0.85
    assert small.mean() == pytest.approx(large.mean(), abs=4)


def test_mono_is_the_grey_of_the_colours():
    mono = draw_picture(2, 4, 300, 300, 1)[:, :, 0].astype(float)
    colour = draw_picture(2, 4, 300, 300, 3).astype(float)
    assert colour.shape == (300, 300, 3)
    assert np.corrcoef(mono.ravel(), colour.mean(axis=2).ravel())[0, 1] > 0.98


def test_all_kinds_come_in_turn_and_none_is_drawn_twice():
    pictures = [draw_picture(1, n, 120, 120, 1).astype(float).ravel() for n in range(1, 2 * len(SCENES) + 1)]
    alike = np.corrcoef(pictures)[~np.eye(len(pictures), dtype=bool)]
    assert alike.max() < 0.95


@pytest.mark.parametrize("number", range(1, len(SCENES) + 1))
def test_there_is_detail_at_many_scales(number):
    """Each halving of the picture's size still leaves detail that the next one loses."""
    picture = draw_picture(1, number, 1024, 1024, 1)[:, :, 0].astype(np.float32)
    for _ in range(5):
        half = cv2.pyrDown(picture)
        lost = picture - cv2.pyrUp(half)
        assert lost.std() > 0.8
        picture = half


def test_paints_become_codes_of_log_luminance():
    """0.18 is code 140; a stop is 30.1 codes (100 to the decade)."""
    assert code(grey(0.18)) == (140, 140, 140)
    assert code(grey(0.36))[0] == 140 + round(100 * np.log10(2))
    assert code(grey(0.0))[0] == 1, "code 0 means no light at all"


def test_a_canvas_takes_shapes_in_units_of_its_height():
    canvas = Canvas(100, 200, 1)
    assert canvas.aspect == 2.0
    canvas.box(0.5, 0.25, 1.0, 0.5, grey(0.9))
    lit = canvas.codes[:, :, 0] > 200
    assert lit.sum() == pytest.approx(100 * 50, rel=0.03)
    assert lit[25:75, 50:150].mean() > 0.95


def test_noise_tiles_are_periodic_and_of_unit_spread():
    for tile in (fractal_tile(1, 128), grain_tile(1, 128, 1.5), grain_tile(1, 128, 0.0)):
        assert tile.mean() == pytest.approx(0.0, abs=0.02)
        assert tile.std() == pytest.approx(1.0, rel=0.02)
    soft = grain_tile(1, 128, 2.0)
    across_the_seam = np.corrcoef(soft[:, -1], soft[:, 0])[0, 1]
    within = np.corrcoef(soft[:, 60], soft[:, 61])[0, 1]
    assert across_the_seam == pytest.approx(within, abs=0.15)
    assert np.array_equal(tiled(soft, 300, 300, 5, 7)[0, :10], np.roll(soft, (-5, -7), (0, 1))[0, :10])


def test_clouds_are_the_same_at_any_size():
    small = cloud(np.random.default_rng(3), 100, 150, 2.0, 4)
    large = cloud(np.random.default_rng(3), 400, 600, 2.0, 4)
    assert np.corrcoef(small.ravel(), cv2.resize(large, (150, 100), interpolation=cv2.INTER_AREA).ravel())[0, 1] > 0.98
