"""The slanted edge measured a second way, that shares nothing with the first but the patch: a blurred straight edge is
fitted to all pixels at once (scipy's least squares), and the response is the fitted Gaussian's.

Source: the model is the analytic truth of a Gaussian blur through a square pixel. A loose check: 0.05."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import curve_fit
from scipy.special import erf

from rigd.imaging.sfr import edge_response

pytestmark = pytest.mark.published


def patch(sigma: float, degrees: float, seed: int) -> np.ndarray:
    """A slanted edge with noise, 16 points a pixel."""
    turn, step = np.radians(degrees), (np.arange(16) + 0.5) / 16 - 0.5
    x = (np.arange(90) - 45.2)[None, :, None, None] + step[None, None, None, :]
    y = (np.arange(110) - 55.0)[:, None, None, None] + step[None, None, :, None]
    light = 0.15 + 0.3 * (1 + erf((x * np.cos(turn) - y * np.sin(turn)) / sigma / np.sqrt(2))).mean(axis=(2, 3))
    return light + np.random.default_rng(seed).normal(0, 0.003, light.shape)


def fitted_sigma(light: np.ndarray) -> float:
    """Gaussian sigma of blur and pixel together, along the normal."""
    y, x = np.mgrid[0 : light.shape[0], 0 : light.shape[1]]

    def model(at, low, high, place, turn, sigma):
        distance = (at[1] - place) * np.cos(turn) - (at[0] - light.shape[0] / 2) * np.sin(turn)
        return low + (high - low) * (1 + erf(distance / sigma / np.sqrt(2))) / 2

    start = (light.min(), light.max(), light.shape[1] / 2, 0.08, 1.0)
    found, _ = curve_fit(model, (y.ravel(), x.ravel()), light.ravel(), p0=start)
    return float(abs(found[4]))


@pytest.mark.parametrize(("sigma", "degrees"), [(0.6, 5.0), (0.8, 7.0), (1.2, 4.0)])
def test_both_ways_agree(sigma, degrees):
    light = patch(sigma, degrees, 3)
    own = edge_response(light)
    other = fitted_sigma(light)
    frequency = np.array([0.05, 0.1, 0.2, 0.3])
    measured = np.interp(frequency, own.frequency, own.response)
    assert measured == pytest.approx(np.exp(-2 * (np.pi * other * frequency) ** 2), abs=0.05)
