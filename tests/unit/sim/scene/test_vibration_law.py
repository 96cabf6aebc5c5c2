"""The damped oscillator against closed formulas: t = ln(A0/A) / (zeta w), decrement 2 pi zeta / sqrt(1 - zeta^2)."""

from __future__ import annotations

import numpy as np
import pytest

from rigd_sim.scene.smear import path_kernel, sample_times
from rigd_sim.scene.vibration import Oscillator, Vibration


@pytest.mark.parametrize(
    ("hertz", "damping", "start", "end", "seconds"),
    [(10, 0.02, 100, 1, 3.6647), (20, 0.05, 50, 1, 0.62262), (5, 0.01, 200, 1, 16.865)],
)
def test_settling_time(hertz, damping, start, end, seconds):
    """Values computed from the formula above, by hand."""
    oscillator = Oscillator(hertz, damping, 0.0)
    assert oscillator.settled_after(start, end) == pytest.approx(seconds, rel=1e-4)
    assert oscillator.envelope(start, seconds) == pytest.approx(end, rel=1e-3)


def test_logarithmic_decrement():
    """ln of the ratio of one peak to the next; zeta = 0.02 gives 0.125689."""
    times = np.linspace(0, 1, 2_000_001)
    moved = Oscillator(10, 0.02, 0.0).answer(100.0, times)
    peaks = np.flatnonzero((moved[1:-1] > moved[:-2]) & (moved[1:-1] > moved[2:])) + 1
    ratios = np.log(moved[peaks[:-1]] / moved[peaks[1:]])
    assert ratios == pytest.approx(0.125689, abs=1e-5)


def test_nothing_moves_before_the_blow_and_nothing_jumps_at_it():
    moved = Oscillator(12, 0.03, 0.0).answer(30.0, np.array([-1.0, 0.0, 1e-4]))
    assert moved[0] == moved[1] == 0.0
    assert abs(moved[2]) < 0.5


def test_blows_add_up_along_one_direction():
    vibration = Vibration(Oscillator(12, 0.03, 30.0))
    vibration.kick(0.0, 10.0)
    vibration.kick(1 / 12, 10.0)
    times = np.linspace(0, 1, 50)
    along, across = vibration.displacement(times)
    assert across == pytest.approx(along * np.tan(np.radians(30.0)))
    single = vibration.oscillator.answer(10.0, times) + vibration.oscillator.answer(10.0, times - 1 / 12)
    assert np.hypot(along, across) == pytest.approx(np.abs(single))


@pytest.mark.parametrize(("amplitude", "factor"), [(0.5, 0.98476), (1.0, 0.93974), (2.0, 0.76981), (3.0, 0.52062)])
def test_a_long_exposure_blurs_like_a_bessel_function(amplitude, factor):
    """Contrast at 78.74 lp/mm under a sinusoid of that amplitude (um) is J0(2 pi f a): values computed from it."""
    px_per_um = 10.0  # fine enough that splitting a position between two pixels does not show
    times = sample_times(0.0, 2.0, 12.0)
    path = amplitude * np.sin(2 * np.pi * 12.0 * times) * px_per_um
    kernel = path_kernel(path, np.zeros_like(path))
    assert kernel is not None
    weights = kernel.sum(axis=0)
    x = (np.arange(weights.size) - weights.size // 2) / px_per_um / 1000
    assert (weights * np.cos(2 * np.pi * 78.74 * x)).sum() == pytest.approx(factor, abs=2e-3)


def test_an_even_smear_blurs_like_a_sinc():
    """Linear smear of b px: contrast at half the sampling frequency is sinc(b/2); b = 0.5 gives 0.90032."""
    shift = np.linspace(-25, 25, 2001)
    kernel = path_kernel(shift, np.zeros_like(shift))
    assert kernel is not None
    weights = kernel.sum(axis=0)
    x = np.arange(weights.size) - weights.size // 2
    assert (weights * np.cos(2 * np.pi * x * 0.005)).sum() == pytest.approx(np.sinc(50 * 0.005), abs=1e-3)
    assert np.sinc(0.25) == pytest.approx(0.90032, abs=1e-5)


def test_a_still_path_has_no_kernel():
    assert path_kernel(np.full(9, 0.02), np.zeros(9)) is None


def test_a_kernel_moves_light_the_way_the_image_went():
    import cv2

    kernel = path_kernel(np.full(5, 3.0), np.full(5, -2.0))
    picture = np.zeros((21, 21), np.float32)
    picture[10, 10] = 1.0
    assert kernel is not None
    assert np.unravel_index(cv2.filter2D(picture, -1, kernel).argmax(), (21, 21)) == (8, 13)
