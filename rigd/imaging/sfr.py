"""Spatial frequency response of a slanted edge, after ISO 12233 (edition 2014, clauses 6.2.4 and 6.2.5).

Each line's edge is located, all lines are projected into bins of a quarter of a pixel, the edge spread is
differentiated with [-1/2, 0, 1/2], centred, windowed (Hamming) and transformed. The standard's printed correction for
the derivative is wrong in 2014 and 2017 (public erratum); from first principles the central difference over two bins
loses sinc(2 f / 4) and the bins' own width sinc(f / 4), with f in cycles a pixel.
"""

from __future__ import annotations

from math import hypot

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.errors import InputError

Array = NDArray[np.float64]

_OVERSAMPLING = 4
# Frequencies up to twice the sampling limit are kept: aliasing shows there.
_STEPS, _STEP = 201, 0.005
# An edge must lie askew, or its lines all meet the pixels alike; and cross the window whole.
_LEAST_SLOPE, _MOST_SLOPE = 0.02, 0.6
_LEAST_CONTRAST = 0.1


class Response(Struct, frozen=True):
    """`frequency` in cycles a pixel along the edge's normal, `response` (1 at zero). `sfr50`, `sfr10`: where it falls
    to a half and a tenth; `at_limit`: the response at half the sampling frequency (0.5); `efficiency`: sampling
    efficiency, sfr10 over 0.5, at most 1; `most`: the greatest response (over 1: sharpened); `slope`: of the edge."""

    frequency: tuple[float, ...]
    response: tuple[float, ...]
    sfr50: float
    sfr10: float
    at_limit: float
    efficiency: float
    most: float
    slope: float


def edge_response(patch: NDArray[np.floating]) -> Response:
    """Measure a patch (h, w) of linear light with one slanted edge through it, near upright or near level.

    Raises:
        InputError: no edge, one that is not slanted, or not enough contrast.
    """
    light = np.asarray(patch, np.float64)
    if light.ndim != 2 or min(light.shape) < 20:
        raise _unfit("The patch is too small.")
    across, down = (np.abs(np.diff(light.mean(axis=axis))).sum() for axis in (0, 1))
    light = light if across >= down else light.T
    low, high = np.percentile(light, [5, 95])
    if high <= 0 or (high - low) / high < _LEAST_CONTRAST:
        raise _unfit("There is no edge in the patch.")
    slope, offset = _edge(light)
    if not _LEAST_SLOPE <= abs(slope) <= _MOST_SLOPE:
        raise _unfit("The edge is not slanted enough, or too much.")
    return _summary(_transform(_line_spread(light, slope, offset)), slope)


def _edge(light: Array) -> tuple[float, float]:
    """Edge position x = offset + slope * line: centroids of each line's derivative, windowed, fitted twice."""
    rows, columns = light.shape
    lines, middles = np.arange(rows), np.arange(columns - 2) + 1.0
    change = (light[:, 2:] - light[:, :-2]) / 2
    places = np.full(rows, columns / 2)
    slope = offset = 0.0
    for width in (columns, columns / 2, columns / 3):
        away = np.abs(middles[None, :] - places[:, None])
        window = np.where(away < width / 2, 0.54 + 0.46 * np.cos(2 * np.pi * away / width), 0.0)
        weight = change * window
        total = weight.sum(axis=1)
        good = np.abs(total) > 1e-9 * np.abs(light).max()
        if good.sum() < rows / 2:
            raise _unfit("The edge does not cross the patch.")
        centre = (weight[good] * middles).sum(axis=1) / total[good]
        slope, offset = (float(v) for v in np.polyfit(lines[good], centre, 1))
        places = offset + slope * lines
    return slope, offset


def _line_spread(light: Array, slope: float, offset: float) -> Array:
    """The edge spread in bins of a quarter of a pixel along the normal, differentiated."""
    rows, columns = light.shape
    along = cos_of(slope)
    distance = (np.arange(columns)[None, :] - offset - slope * np.arange(rows)[:, None]) * along
    # Only distances that every line reaches.
    reach = (columns / 2 - abs(slope) * rows / 2 - abs(offset + slope * rows / 2 - columns / 2)) * along
    half = int(reach * _OVERSAMPLING) - 1
    if half < 4 * _OVERSAMPLING:
        raise _unfit("The edge lies too near the patch's rim.")
    bins = np.floor(distance * _OVERSAMPLING + 0.5).astype(np.int64) + half
    inside = (bins >= 0) & (bins <= 2 * half)
    counts = np.bincount(bins[inside], minlength=2 * half + 1)
    sums = np.bincount(bins[inside], light[inside], 2 * half + 1)
    spread = sums / np.maximum(counts, 1)
    empty = counts == 0
    if empty.any():
        spread[empty] = np.interp(np.flatnonzero(empty), np.flatnonzero(~empty), spread[~empty])
    return (spread[2:] - spread[:-2]) / 2


def cos_of(slope: float) -> float:
    """Cosine of the angle whose tangent is `slope`: from distances along the line to those along the normal."""
    return 1.0 / hypot(1.0, slope)


def _transform(line_spread: Array) -> tuple[Array, Array]:
    """(frequencies in cycles a pixel, modulus) of a line spread, corrected."""
    n = line_spread.size
    place = np.arange(n)
    peak = float(place[int(np.argmax(np.abs(line_spread)))])
    window = 0.54 + 0.46 * np.cos(2 * np.pi * np.clip((place - peak) / n, -0.5, 0.5))
    frequency = np.asarray(np.arange(_STEPS) * _STEP, np.float64)
    kernel = np.exp(-2j * np.pi * frequency[:, None] * (place - peak)[None, :] / _OVERSAMPLING)
    modulus = np.abs(kernel @ (line_spread * window))
    modulus /= modulus[0]
    lost = np.sinc(2 * frequency / _OVERSAMPLING) * np.sinc(frequency / _OVERSAMPLING)
    return frequency, np.asarray(modulus / lost, np.float64)


def _summary(found: tuple[Array, Array], slope: float) -> Response:
    frequency, response = found
    sfr50, sfr10 = (_falls_to(frequency, response, level) for level in (0.5, 0.1))
    at_limit = float(np.interp(0.5, frequency, response))
    most = float(response[frequency <= 0.5].max())
    curve = tuple(map(float, frequency)), tuple(map(float, response))
    return Response(*curve, sfr50, sfr10, at_limit, min(sfr10, 0.5) / 0.5, most, slope)


def _falls_to(frequency: Array, response: Array, level: float) -> float:
    """The frequency at which the response first falls to a level; the greatest known where it never does."""
    under = np.flatnonzero(response < level)
    if not under.size:
        return float(frequency[-1])
    i = int(under[0])
    low, high = response[i - 1], response[i]
    return float(frequency[i - 1] + (low - level) / (low - high) * (frequency[i] - frequency[i - 1]))


def _unfit(why: str) -> InputError:
    return InputError("This edge cannot be measured.", why, "Use a straight edge, 3 to 10 degrees askew, well lit.")
