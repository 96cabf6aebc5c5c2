"""Where the picture lies in what the camera sees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rigd.imaging.clear import clear_level
from rigd.imaging.levels import Three
from rigd.imaging.planes import Box
from rigd.model.formats import FilmFormat
from rigd.model.words import Tone

Corners = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]
"""Four points (x, y) in sensor pixels: top left, top right, bottom right, bottom left."""

# Real gates of cameras differ from the nominal size by some per cent.
_SIZE_SPREAD = 0.05
# Width of the bands compared inside and outside an edge; gaps on 135 are 2 mm.
_BAND_MM = 0.8
# An edge pair scores 2 where the bands outside hold only film or holder and those inside none of it.
_SURE = 0.9
# Film within this of the base is base: less than the faintest exposure that shows, more than the lamp's falloff.
_BASE_LIKE = 0.25
# The holder lies this far under the base; the densest negatives do not (D 2.6).
_HOLDER = -8.6
# A positive's rebate lies this far under its light end.
_BLACK = -7.0


@dataclass(frozen=True, slots=True)
class Framed:
    """`found` False: no edges could be seen, `box` is then the nominal picture in the middle, or the middle two
    thirds. `corners` None in that case. `score`: how sure, 0 to 4. `base`: L of clear film beside the picture."""

    found: bool
    box: Box
    corners: Corners | None
    score: float
    base: Three | None


def find_frame(levels: NDArray[np.float32], step: int, film: FilmFormat, tone: Tone, px_per_mm: float | None = None,
               base: Three | None = None, lamp: Three | None = None) -> Framed:
    """Find the picture in reduced `levels` (h, w, 3, stops); `base` and `lamp` as L in this take, where known."""
    if base is None and tone is Tone.NEGATIVE:
        # Where nothing else can be clear film, base and lamp are both saturated.
        base = clear_level(levels, lamp) or (0.0, 0.0, 0.0)
    outside = _outside(levels, tone, base)
    scale = px_per_mm / step if px_per_mm else None
    turns = [(film.along_mm, film.across_mm), (film.across_mm, film.along_mm)]
    tries = [_rectangle(outside, size, scale) for size in (turns[:1] if turns[0] == turns[1] else turns)]
    score, (left, top, right, bottom), sure = max(tries, key=lambda found: found[0])
    box = (left * step, top * step, right * step, bottom * step)
    if not sure:
        return Framed(False, _middle(levels.shape, step, film, px_per_mm), None, score, base)
    x0, y0, x1, y1 = (float(v) for v in box)
    return Framed(True, box, ((x0, y0), (x1, y0), (x1, y1), (x0, y1)), score, base)


def _outside(levels: NDArray[np.float32], tone: Tone, base: Three | None) -> NDArray[np.float32]:
    """1 where a block may be holder, rebate or gap, else 0."""
    green = levels[:, :, 1]
    if tone is Tone.POSITIVE or base is None:
        return np.asarray(green < np.percentile(green, 99) + _BLACK, np.float32)
    # Where the base itself is saturated, whatever is nearly saturated may be base.
    clear = np.all(levels > np.minimum(np.asarray(base, np.float32), 0.0) - _BASE_LIKE, axis=2)
    return np.asarray(clear | (green < base[1] + _HOLDER), np.float32)


def _rectangle(
    outside: NDArray[np.float32], size_mm: tuple[float, float], scale: float | None
) -> tuple[float, Box, bool]:
    """The best upright rectangle of about that size (mm, x and y): its score, edges in blocks, and if it is sure."""
    height, width = outside.shape
    rows, columns = slice(height // 3, height - height // 3), slice(0, width)
    left, right, top, bottom = 0, width, 0, height
    wide = high = 0.0
    for _ in range(2):
        wide, left, right = _edges(outside[rows].mean(axis=0), size_mm[0], scale)
        inner = max(1, (right - left) // 10)
        columns = slice(left + inner, right - inner)
        high, top, bottom = _edges(outside[:, columns].mean(axis=1), size_mm[1], scale)
        inner = max(1, (bottom - top) // 10)
        rows = slice(top + inner, bottom - inner)
    return wide + high, (left, top, right, bottom), min(wide, high) > _SURE


def _edges(profile: NDArray[np.float32], size_mm: float, scale: float | None) -> tuple[float, int, int]:
    """The pair of edges with the greatest step from outside to inside: (score, first, last + 1) in blocks."""
    n = profile.size
    nominal = size_mm * scale if scale else 0.75 * n
    spread = _SIZE_SPREAD if scale else 0.34
    band = max(2, round(_BAND_MM * (scale if scale else 0.75 * n / size_mm)))
    sums = np.concatenate([[0.0], np.cumsum(profile, dtype=np.float64)])
    before = np.array([(sums[i] - sums[max(0, i - band)]) / band if i >= 2 else 0.0 for i in range(n + 1)])
    after = np.array([(sums[min(n, i + band)] - sums[i]) / band if i <= n - 2 else 0.0 for i in range(n + 1)])
    rise, fall = before - after, after - before
    best = (-9.0, 0, n)
    for size in range(max(4, round(nominal * (1 - spread))), min(n, round(nominal * (1 + spread))) + 1):
        score = rise[: n + 1 - size] + fall[size:]
        at = int(np.argmax(score))
        best = max(best, (float(score[at]), at, at + size))
    return best


def _middle(shape: tuple[int, ...], step: int, film: FilmFormat, px_per_mm: float | None) -> Box:
    height, width = shape[0] * step, shape[1] * step
    if px_per_mm:
        wide, high = film.along_mm * px_per_mm, film.across_mm * px_per_mm
        if wide > width or high > height:
            wide, high = high, wide
        wide, high = min(wide, width), min(high, height)
    else:
        wide, high = width * 2 / 3, height * 2 / 3
    left, top = int(width - wide) // 2, int(height - high) // 2
    return left, top, left + int(wide), top + int(high)
