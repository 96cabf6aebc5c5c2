"""Light in, numbers out: what a raw value must do when time, aperture, sensitivity and lamp change."""

from __future__ import annotations

import numpy as np
import pytest

from rigd_sim.scene.sensor import BLACK, FULL_WELL, READ_NOISE, WHITE

MIDDLE = (slice(500, 660), slice(780, 940))  # sensor px, inside the gate of every format


def signal(scene, seconds=1 / 60, f_number=8.0, iso=100, at=10.0):
    """Mean above black of each Bayer phase (R, G, G, B) in the middle of the sensor."""
    part = scene.expose(at, seconds, f_number, iso)[MIDDLE].astype(float) - BLACK
    return np.array([part[y::2, x::2].mean() for y in (0, 1) for x in (0, 1)])


@pytest.fixture
def scene(open_scene):
    """A 6x6 with an unexposed frame in the gate: an even patch of film."""
    from rigd_sim.scene import FrameSpec

    scene = open_scene(dust=0.0, overrides=((1, FrameSpec("unexposed")),))
    scene.lay(1)
    return scene


def test_a_mosaic_is_14_bits_above_black(scene):
    mosaic = scene.expose(0.0, 1 / 60, 8.0, 100)
    assert mosaic.dtype == np.uint16
    assert mosaic.shape == (1152, 1728)
    assert mosaic.min() > 0, "read noise must not be cut off at zero"
    assert mosaic.max() <= WHITE


def test_twice_the_time_is_twice_the_signal(scene):
    once, twice = signal(scene, 1 / 120), signal(scene, 1 / 60)
    assert twice / once == pytest.approx(2.0, rel=2e-3)


@pytest.mark.parametrize(("wide", "narrow", "ratio"), [(8.0, 16.0, 4.0), (5.6, 8.0, (8 / 5.6) ** 2)])
def test_light_goes_with_the_f_number_squared(scene, wide, narrow, ratio):
    assert signal(scene, 1 / 250, wide) / signal(scene, 1 / 250, narrow) == pytest.approx(ratio, rel=5e-3)


def test_sensitivity_scales_the_numbers(scene):
    assert signal(scene, 1 / 250, iso=200) / signal(scene, 1 / 250, iso=100) == pytest.approx(2.0, rel=5e-3)


def test_too_much_light_clips_at_white_and_stays_there(scene):
    scene.lay(None)
    part = scene.expose(0.0, 1.0, 8.0, 100)[MIDDLE]
    assert (part == WHITE).all()


def test_without_lamp_there_is_only_black_and_read_noise(scene):
    scene.lamp(False)
    part = scene.expose(0.0, 1 / 60, 8.0, 100)[MIDDLE].astype(float)
    numbers_an_electron = (WHITE - BLACK) / FULL_WELL
    assert part.mean() == pytest.approx(BLACK, abs=0.1)
    assert part.std() == pytest.approx(READ_NOISE * numbers_an_electron, rel=0.06)  # rounding adds 1/12


def test_room_light_stays_when_the_lamp_is_off(open_scene):
    scene = open_scene(room=0.01)
    scene.lamp(False)
    assert signal(scene, 1 / 30) == pytest.approx(0.01 * 1.45 * (WHITE - BLACK), rel=0.02)


def test_noise_is_shot_noise_and_read_noise(scene):
    """The difference of two exposures holds no picture, and twice the variance of one: e + r^2 in electrons."""
    a, b = (scene.expose(0.0, 1 / 60, 8.0, 100)[MIDDLE].astype(float) for _ in range(2))
    numbers_an_electron = (WHITE - BLACK) / FULL_WELL
    for y, x in ((0, 0), (0, 1), (1, 0), (1, 1)):
        electrons = (a[y::2, x::2].mean() - BLACK) / numbers_an_electron
        variance = (a[y::2, x::2] - b[y::2, x::2]).var() / 2 / numbers_an_electron**2
        assert variance == pytest.approx(electrons + READ_NOISE**2, rel=0.06)


def test_noise_is_new_in_every_exposure_and_the_film_is_not(scene):
    scene.slide(frame=2, seconds=0.0)
    a, b = (scene.expose(0.0, 1 / 30, 8.0, 100)[MIDDLE].astype(float) for _ in range(2))
    assert (a != b).mean() > 0.9
    green_a, green_b = a[::2, 1::2].ravel(), b[::2, 1::2].ravel()
    assert np.corrcoef(green_a, green_b)[0, 1] > 0.8, "the same picture, grain and all"


def test_the_lamp_falls_off_towards_the_corners(open_scene):
    """The corner of the sensor gets `falloff` less than its middle, places between as a Gaussian has it (open gate)."""
    scene = open_scene(falloff=0.2, film_format="120-6x9", stray=0.0)
    mosaic = scene.expose(0.0, 1 / 60, 8.0, 100).astype(float) - BLACK
    middle, side = mosaic[560:592, 848:880].mean(), mosaic[560:592, 60:92].mean()
    along = 788 / (np.hypot(1728, 1152) / 2)  # px from the middle over the half diagonal
    assert side / middle == pytest.approx(0.8 ** (along**2), rel=0.01)


def test_level_dims_the_lamp(scene):
    full = signal(scene)
    scene.lamp(True, 0.25)
    assert signal(scene) / full == pytest.approx(0.25, rel=1e-2)


def test_same_seed_same_pixels_other_seed_other_pixels(open_scene):
    def first(seed):
        scene = open_scene(seed=seed)
        scene.lay(1)
        return scene.expose(0.0, 1 / 30, 8.0, 100)

    assert np.array_equal(first(5), first(5))
    assert not np.array_equal(first(5), first(6))
