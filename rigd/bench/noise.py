"""Noise and range, from a series of like pairs at growing times: photon transfer, linearity, the camera's true times.

The variance of a pixel is its mean over the gain (photons arrive by chance) plus the square of the read noise; a pair's
difference shows the variance without dust and lamp (photon transfer, common practice in sensor tests). Dynamic range is
saturation over the level where the signal equals the noise, as ISO 15739 and ISO 21550 define range by a
signal-to-noise ratio of 1 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from rigd.bench import fadgi
from rigd.bench.values import Figure, Finding, judged
from rigd.errors import InputError
from rigd.imaging.raw import Raw

_TOP = 0.9
"""Beyond this share of saturation bright pixels begin to be cut off, and the variance falls."""


class Pair(Struct, frozen=True):
    """One pair of like takes: time in seconds, mean over black and variance of one pixel, in raw units, green."""

    seconds: float
    mean: float
    variance: float


class Range(Struct, frozen=True):
    """`gain` raw units an electron; `read_noise` and `full_well` in electrons; range in stops and in density.
    `linearity_pct`: greatest deviation from a straight line through the series; `times`: true times by nominal ones,
    relative to the longest measured one that is not saturated."""

    gain: float
    read_noise: float
    full_well: float
    stops: float
    density: float
    linearity_pct: float
    times: tuple[tuple[float, float], ...]


def pair(one: Raw, two: Raw) -> Pair:
    """Measure two like takes of an evenly lit field in their middle.

    Raises:
        InputError: unlike size or time.
    """
    if one.mosaic.shape != two.mosaic.shape or not math.isclose(one.seconds, two.seconds, rel_tol=1e-3):
        raise InputError("The two takes of a pair are not alike.", "Size or time differ.", "Take both alike.")
    height, width = one.mosaic.shape
    place = one.pattern.index(1)
    rows = slice(2 * (height // 6) + place // 2, 2 * (height // 3), 2)
    columns = slice(2 * (width // 6) + place % 2, 2 * (width // 3), 2)
    a, b = (raw.mosaic[rows, columns].astype(np.float64) for raw in (one, two))
    return Pair(one.seconds, float((a.mean() + b.mean()) / 2 - one.black[place]), float(np.var(a - b) / 2))


def measure(pairs: Sequence[Pair], black: float, white: float) -> Range:
    """Noise and range of a series of pairs. Raises InputError where fewer than four are usable."""
    used = sorted((p for p in pairs if p.mean < _TOP * (white - black)), key=lambda p: p.mean)
    if len(used) < 4:
        found = f"There are {len(used)}."
        raise InputError("Four pairs under saturation are needed.", found, "Take shorter times too.")
    means, variances = np.array([p.mean for p in used]), np.array([p.variance for p in used])
    # Each variance is known to a share of itself: weigh by it, so that the dark end decides the read noise.
    design = np.column_stack([means, np.ones_like(means)]) / variances[:, None]
    (slope, offset), *_ = np.linalg.lstsq(design, np.ones_like(means), rcond=None)
    # Rounding to whole numbers adds 1/12 (uniform quantisation).
    read = math.sqrt(max(float(offset) - 1 / 12, 0.0))
    top, gain = white - black, float(slope)
    floor = _where_signal_is_noise(gain, float(offset))
    stops = math.log2(top / floor)
    return Range(gain, read / gain, top / gain, stops, stops * math.log10(2), _linearity(used), _times(used))


def _where_signal_is_noise(gain: float, offset: float) -> float:
    """Signal s with s^2 = gain s + offset."""
    return (gain + math.sqrt(gain**2 + 4 * offset)) / 2


def _linearity(used: Sequence[Pair]) -> float:
    seconds, means = np.array([p.seconds for p in used]), np.array([p.mean for p in used])
    slope = float(np.sum(seconds * means / means**2) / np.sum(seconds**2 / means**2))
    return float(100 * np.max(np.abs(means / (slope * seconds) - 1)))


def _times(used: Sequence[Pair]) -> tuple[tuple[float, float], ...]:
    last = used[-1]
    return tuple((p.seconds, last.seconds * p.mean / last.mean) for p in used)


def finding(found: Range) -> Finding:
    """The range against FADGI's row; read noise and linearity beside it, for which there is no row for film."""
    others = (
        Figure("read noise", found.read_noise, "electrons"), Figure("full well", found.full_well, "electrons"),
        Figure("range", found.stops, "stops"), Figure("linearity, greatest error", found.linearity_pct, "%"),
    )  # fmt: skip
    grade = f"{fadgi.grade('range', found.density)}; noise: {fadgi.UNDEFINED}"
    return judged("noise and range", Figure("dynamic range", found.density, "D"), None, "", others, grade)
