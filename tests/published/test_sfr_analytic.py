"""The edge response against its analytic truth: a Gaussian blur seen through a square pixel.

Source: first principles. MTF(f) = exp(-2 pi^2 s^2 f^2) sinc(f cos a) sinc(f sin a) along the edge's normal; the table
of values for a = 0 is computed from it. Procedure: ISO 12233:2014, clauses 6.2.4 to 6.2.5; tolerance 0.02 is what the
binning of that procedure leaves.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import erf

from rigd.errors import InputError
from rigd.imaging.sfr import edge_response

pytestmark = pytest.mark.published

# sigma px -> MTF(0.25), MTF(0.5), f50, f10 (cycles a pixel), sampling efficiency; edge upright.
TABLE = {
    0.3: (0.80570, 0.40832, 0.44234, 0.76367, 1.000),
    0.5: (0.66138, 0.18539, 0.32309, 0.58128, 1.000),
    0.8: (0.40878, 0.02706, 0.22012, 0.40023, 0.8005),
    1.0: (0.26218, 0.00458, 0.17996, 0.32766, 0.6553),
    1.2: (0.15236, 0.00052, 0.15180, 0.27652, 0.5530),
}


def edge(sigma: float, degrees: float, rows: int = 120, columns: int = 100, fine: int = 16, shift: float = 0.0):
    """A slanted edge blurred by a Gaussian, averaged over square pixels by `fine` x `fine` points."""
    turn = np.radians(degrees)
    step = (np.arange(fine) + 0.5) / fine - 0.5
    x = (np.arange(columns) - columns / 2 - shift)[None, :, None, None] + step[None, None, None, :]
    y = (np.arange(rows) - rows / 2)[:, None, None, None] + step[None, None, :, None]
    distance = x * np.cos(turn) - y * np.sin(turn)
    return 0.1 + 0.4 * (1 + erf(distance / sigma / np.sqrt(2))).mean(axis=(2, 3))


def truth(f, sigma, degrees):
    turn = np.radians(degrees)
    return np.exp(-2 * (np.pi * sigma * f) ** 2) * np.sinc(f * np.cos(turn)) * np.sinc(f * np.sin(turn))


@pytest.mark.parametrize("degrees", [5.0, 8.0, -6.0])
@pytest.mark.parametrize("sigma", sorted(TABLE))
def test_the_curve_is_within_two_hundredths(sigma, degrees):
    found = edge_response(edge(sigma, degrees))
    f = np.array(found.frequency)
    upto = f <= 0.5
    off = np.array(found.response)[upto] - truth(f[upto], sigma, degrees)
    assert np.abs(off).max() < 0.02


@pytest.mark.parametrize("sigma", sorted(TABLE))
def test_the_numbers_read_from_it(sigma):
    quarter, half, f50, _, efficiency = TABLE[sigma]
    found = edge_response(edge(sigma, 5.0))
    assert np.interp(0.25, found.frequency, found.response) == pytest.approx(quarter, abs=0.02)
    assert found.at_limit == pytest.approx(half, abs=0.02)
    assert found.sfr50 == pytest.approx(f50, abs=0.012)
    assert found.efficiency == pytest.approx(efficiency, abs=0.03)
    assert found.most < 1.02


def test_an_edge_near_level_is_read_alike():
    upright, level = edge_response(edge(0.8, 5.0)), edge_response(edge(0.8, 5.0).T)
    assert level.sfr50 == pytest.approx(upright.sfr50, abs=1e-9)


def test_sharpening_shows_as_a_response_over_one():
    """Unsharp mask of amount 1.0 and radius 1.5 px on sigma 0.8: greatest response 1.20 by the formula
    MTF (2 - exp(-2 pi^2 1.5^2 f^2))."""
    from scipy.ndimage import gaussian_filter

    plain = edge(0.8, 5.0)
    found = edge_response(2 * plain - gaussian_filter(plain, 1.5))
    f = np.arange(0, 0.5, 0.001)
    best = (truth(f, 0.8, 5.0) * (2 - np.exp(-2 * (np.pi * 1.5 * f) ** 2))).max()
    assert best == pytest.approx(1.20, abs=0.01)
    assert found.most == pytest.approx(best, abs=0.02)


REFUSED = {"even": np.ones((60, 60)), "straight": edge(0.5, 0.0), "small": np.ones((5, 5))}


@pytest.mark.parametrize("patch", REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_measured_is_refused(patch):
    with pytest.raises(InputError):
        edge_response(patch)
