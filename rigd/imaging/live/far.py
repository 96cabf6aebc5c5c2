"""How far the picture went, to a pixel, from anywhere within the gate: where both looks agree best over what both show.

Cross-correlation of the bands by FFT, divided for each shift by the energy of what overlaps (normalised
cross-correlation with masks): a shift that leaves little in common is not judged by what has left the picture.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.live.look import Bands

# Looks that share less than this part of the gate's length agree by accident too often.
_LEAST_OVERLAP = 0.15
# Of two shifts that agree equally well, the one that is seen over the longer stretch is likelier.
_OVERLAP_POWER = 0.25
# What the eye cannot tell from noise after smoothing, display levels squared for each pixel of a band.
_NOISE = 0.15
# A shift at the end of the likely reach must agree better by half.
_REACH_COST = 0.5
# Two shifts that are nearer than this share of the gate are one; the second best must be plainly worse than the best.
_SAME, _PLAINLY = 0.05, 0.25


class Likely(Struct, frozen=True):
    """Where a shift is to be looked for, px: near `at`, hardly further than `reach` from it, never further than `limit`
    from where the film was."""

    at: float
    reach: float
    limit: float


def far_shift(one: Bands, two: Bands, likely: Likely | None) -> tuple[float, bool]:
    """The shift from `one` to `two` (px), both with their mean taken out, and whether no other is nearly as good."""
    shifts, score = _agreements(one, two)
    if likely is not None:
        score = score - _REACH_COST * ((shifts - likely.at) / likely.reach) ** 2
        score[np.abs(shifts) > likely.limit] = -np.inf
    best = int(np.argmax(score))
    others = score[np.abs(shifts - shifts[best]) > _SAME * one.shape[1]]
    second = float(others.max()) if others.size else -np.inf
    return float(shifts[best]), bool(score[best] - second > _PLAINLY)


def _agreements(one: Bands, two: Bands) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Every whole shift that leaves enough in common, and how well the two then agree (up to 1)."""
    rows, n = one.shape
    length = 1 << (2 * n - 1).bit_length()
    cross = (np.fft.rfft(one, length, axis=1).conj() * np.fft.rfft(two, length, axis=1)).sum(axis=0)
    most = int(n * (1 - _LEAST_OVERLAP))
    shifts = np.arange(-most, most + 1)
    common = np.fft.irfft(cross, length)[shifts]
    begin, end = np.maximum(0, -shifts), n - np.maximum(0, shifts)
    floor = _NOISE * rows * (end - begin)
    energy_one, energy_two = _running(one), _running(two)
    of_one = energy_one[end] - energy_one[begin] + floor
    of_two = energy_two[end + shifts] - energy_two[begin + shifts] + floor
    score = common / np.sqrt(of_one * of_two) * ((end - begin) / n) ** _OVERLAP_POWER
    return shifts.astype(np.float64), np.asarray(score, np.float64)


def _running(bands: Bands) -> NDArray[np.float64]:
    columns = np.einsum("ij,ij->j", bands, bands, dtype=np.float64)
    return np.concatenate([[0.0], np.cumsum(columns)])
