"""Softness by grain: movement, misfocus and film that does not lie flat are told apart, sharp takes are not accused."""

from __future__ import annotations

import numpy as np
import pytest

from rigd.imaging import Raw
from rigd.imaging.fine import fine_detail
from rigd.imaging.soft import softness
from rigd.imaging.texture import texture

BOX = (0, 0, 1536, 1152)
SCALE = 100.0
# Pixel 0.29, lens and diffraction 0.55, clumps of grain 0.4 px, together.
USUAL = 0.74


def film(seed: int, moved: tuple[float, float] = (0.0, 0.0), defocus: float = 0.0, curl: float = 0.0) -> Raw:
    """Grain on an uneven sky and a few shapes, blurred as a whole, seen by a noisy sensor. Blur in the frequency
    domain, so that a movement of 2 px is 2 px."""
    rng = np.random.default_rng(seed)
    height, width = BOX[3], BOX[2]
    density = 0.6 + 0.2 * np.sin(np.linspace(0, 3, width))[None, :] * np.cos(np.linspace(0, 2, height))[:, None]
    for _ in range(6):
        x, y = rng.integers(0, width - 200), rng.integers(0, height - 200)
        density[y : y + rng.integers(60, 200), x : x + rng.integers(60, 200)] += rng.uniform(-0.2, 0.3)
    light = 10 ** -(density + 0.03 * rng.standard_normal(density.shape))
    fy, fx = np.fft.fftfreq(height)[:, None], np.fft.rfftfreq(width)[None, :]
    length, degrees = moved
    along = fx * np.cos(np.radians(degrees)) + fy * np.sin(np.radians(degrees))
    spectrum = np.fft.rfft2(light) * np.sinc(along * length)

    def seen(sigma: float) -> np.ndarray:
        return np.fft.irfft2(spectrum * np.exp(-2 * (np.pi * sigma) ** 2 * (fx**2 + fy**2)), s=light.shape)

    sharp = seen(np.hypot(USUAL, defocus))
    if curl:
        middle = np.cos(np.linspace(-np.pi / 2, np.pi / 2, height))[:, None] * np.cos(
            np.linspace(-np.pi / 2, np.pi / 2, width)
        )
        sharp = sharp + (seen(np.hypot(USUAL, curl)) - sharp) * middle
    electrons = rng.poisson(np.maximum(sharp, 0) * 50_000)
    mosaic = 512 + electrons * (15871 / 50_000) + rng.normal(0, 1, light.shape)
    pixels = np.clip(np.rint(mosaic), 0, 16383).astype(np.uint16)
    return Raw(pixels, (0, 1, 1, 2), (512.0,) * 4, 16383.0, False, 1.0, 8.0, 100.0, None)


def judged(raw: Raw, others=(), film_deg: float = 0.0):
    fine = fine_detail(raw, BOX)
    return softness(fine, texture(fine, 1.0, SCALE), others, SCALE, film_deg)


@pytest.fixture(scope="module")
def rule():
    return [texture(fine_detail(film(seed), BOX), 1.0, SCALE) for seed in (101, 102, 103, 104)]


@pytest.mark.parametrize("seed", range(8))
def test_a_sharp_take_is_not_accused(rule, seed):
    assert not judged(film(seed)).soft
    found = judged(film(seed), rule)
    assert not found.soft
    assert found.sharpness == pytest.approx(1.0, abs=0.35)


@pytest.mark.parametrize(("degrees", "word"), [(0.0, "along"), (45.0, "aslant"), (90.0, "across"), (150.0, "aslant")])
@pytest.mark.parametrize("pixels", [2.5, 4.0])
def test_movement_is_caught_with_its_direction(pixels, degrees, word):
    found = judged(film(3, moved=(pixels, degrees)))
    assert found.soft
    assert word in found.why
    assert abs((found.moved_deg - degrees + 90) % 180 - 90) < 20
    # Detail that one green's coarse grid folds back makes it too little along the axes, too much between them.
    assert found.moved_px == pytest.approx(pixels, rel=0.45)


def test_direction_is_told_against_the_film():
    assert "along the film" in judged(film(3, moved=(3.0, 90.0)), film_deg=90.0).why


@pytest.mark.parametrize("sigma", [1.5, 2.5])
def test_misfocus_is_caught_by_the_rule_of_the_others(rule, sigma):
    found = judged(film(5, defocus=sigma), rule)
    assert found.soft
    assert "focus" in found.why


def test_film_that_bulges_is_told_from_misfocus(rule):
    assert "not flat" in judged(film(6, curl=3.0), rule).why


def test_where_no_grain_can_be_seen_nothing_is_accused():
    assert not judged(film(7, moved=(0.0, 0.0)), ()).soft
    fine = fine_detail(film(7, moved=(4.0, 0.0)), BOX)
    assert not softness(fine, texture(fine, 1.0, SCALE), (), 20.0).soft


def test_small_boxes_and_sensors_without_colour_are_left_alone():
    raw = film(1)
    assert fine_detail(raw, (0, 0, 100, 100)) is None
    mono = Raw(raw.mosaic, (1, 1, 1, 1), raw.black, raw.white, True, 1.0, 8.0, 100.0, None)
    assert fine_detail(mono, BOX) is None
