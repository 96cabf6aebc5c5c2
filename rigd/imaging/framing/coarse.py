"""The rectangle of about the right size that fits best: upright, to a quarter of a millimetre."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.framing.kinds import Kinds
from rigd.model.formats import FilmFormat

# Blocks of the coarse search, and the bands compared at an edge: narrow gaps are half a millimetre.
BLOCK_MM = 0.25
_BAND_MM = 0.5
# Cameras' gates differ from nominal by a few per cent; a difference of 3 % costs as much as a tenth of an edge.
_SPREAD = 0.05
_PRIOR = 0.1 / 0.03**2
# Picture beyond the edges across the film costs as much as an edge where it fills the rest of the sight, or this share.
_STRAY = 0.1
# A gap between pictures: its widths, how much of it is clear, how much beside it at most is, over which width.
_GAP_MM, _ALL, _SOME, _BESIDE_MM = (0.4, 12.0), 0.97, 0.5, 3.0
# A rectangle that is mostly out of sight is a neighbour's.
_SEEN = 0.55


class Rectangle(Struct, frozen=True):
    """Edges in coarse blocks (fractions of none; may lie out of sight), the evidence (0 to 1) for each, and the sum."""

    left: int
    top: int
    right: int
    bottom: int
    edges: tuple[float, float, float, float]
    score: float


class _Pair(Struct, frozen=True):
    score: float
    first: int
    last: int
    edges: tuple[float, float]


def shrink(linear: NDArray[np.float32], factor: int) -> NDArray[np.float32]:
    """Means of factor x factor blocks of (h, w, 3); edge blocks that are not whole fall away. Blocks that are coarse
    already are smoothed: each is the mean of few pixels."""
    if factor == 1:
        return np.asarray(cv2.blur(linear, (3, 3)), np.float32)
    height, width = linear.shape[0] // factor, linear.shape[1] // factor
    cut = linear[: height * factor, : width * factor]
    return np.asarray(cv2.resize(cut, (width, height), interpolation=cv2.INTER_AREA), np.float32)


def best_rectangle(found: Kinds, size: tuple[float, float], along_x: bool) -> Rectangle:
    """The best rectangle of about that size (x, y, in blocks); `along_x`: the film runs along x."""
    height, width = found.outside.shape
    rows, columns = slice(height // 3, height - height // 3), slice(width // 3, width - width // 3)
    upright = _Pair(0.0, 0, width, (0.0, 0.0))
    level = _Pair(0.0, 0, height, (0.0, 0.0))
    for _ in range(2):
        upright = _pair(found.outside[rows].mean(axis=0), found.hidden[rows].mean(axis=0), size[0], not along_x)
        columns = _heart(upright, width)
        level = _pair(found.outside[:, columns].mean(axis=1), found.hidden[:, columns].mean(axis=1), size[1], along_x)
        rows = _heart(level, height)
    edges = (upright.edges[0], level.edges[0], upright.edges[1], level.edges[1])
    return Rectangle(upright.first, level.first, upright.last, level.last, edges, upright.score + level.score)


def split_by_gap(found: Kinds, film: FilmFormat, scale: float) -> bool:
    """True if a gap between two pictures runs through the middle of the sight: a band across the film, as wide as
    gaps are, with picture on both sides of it. `scale`: blocks a millimetre."""
    across = found.outside.shape[0] // 4, found.outside.shape[1] // 4
    rows = found.outside[across[0] : -across[0]].mean(axis=0)
    columns = found.outside[:, across[1] : -across[1]].mean(axis=1)
    middle = 0.35 * film.along_mm * scale
    return any(_has_gap(profile, middle, scale) for profile in (rows, columns))


def _has_gap(profile: NDArray[np.float32], middle: float, scale: float) -> bool:
    clear = np.concatenate([[False], profile > _ALL, [False]])
    starts, ends = np.flatnonzero(clear[1:] & ~clear[:-1]), np.flatnonzero(~clear[1:] & clear[:-1])
    for start, end in zip(starts, ends, strict=True):
        near = abs((start + end) / 2 - profile.size / 2) < middle
        beside = min(start, profile.size - end) > _BESIDE_MM * scale
        if near and beside and _GAP_MM[0] <= (end - start) / scale <= _GAP_MM[1]:
            by = max(1, round(_BESIDE_MM * scale))
            if max(profile[start - by : start].mean(), profile[end : end + by].mean()) < _SOME:
                return True
    return False


def _heart(pair: _Pair, length: int) -> slice:
    """The inner nine tenths of what is in sight between two edges."""
    first, last = max(0, pair.first), min(length, pair.last)
    inner = max(1, (last - first) // 20)
    return slice(first + inner, max(first + inner + 1, last - inner))


def _pair(outside: NDArray[np.float32], hidden: NDArray[np.float32], nominal: float, across: bool) -> _Pair:
    """The two edges, about `nominal` blocks apart, between which there is picture and beyond which there is none:
    just beyond, and `across` the film all the way, since only along it do other pictures follow."""
    n = outside.size
    pad = int(nominal * (1 - _SEEN)) + 2
    rise, fall = (_padded(steps, pad) for steps in _steps(outside, hidden, max(2, round(_BAND_MM / BLOCK_MM))))
    sizes = np.arange(max(4, round(nominal * (1 - _SPREAD))), round(nominal * (1 + _SPREAD)) + 1)
    sizes = sizes[sizes < rise.size]
    if not sizes.size:
        return _Pair(-9.0, 0, n, (0.0, 0.0))
    first = np.arange(rise.size - sizes[0])[None, :]
    last = np.minimum(first + sizes[:, None], rise.size - 1)
    visible = _between(_padded(np.asarray(hidden < 0.5, np.float64), pad), first, last) / sizes[:, None]
    score = rise[first] + fall[last] + 0.3 * visible - _PRIOR * (sizes[:, None] / nominal - 1) ** 2
    if across:
        inner = _padded(1.0 - outside.astype(np.float64), pad)
        strays = inner.sum() - _between(inner, first, last)
        score -= strays / np.maximum(n * _STRAY, n - sizes[:, None])
    score[(visible < _SEEN) | (first + sizes[:, None] > rise.size - 1)] = -9.0
    best, at = np.unravel_index(int(np.argmax(score)), score.shape)
    size = int(sizes[best])
    edges = (float(rise[at]), float(fall[at + size]))
    return _Pair(float(score[best, at]), int(at) - pad, int(at) + size - pad, edges)


def _padded(values: NDArray[np.float64], by: int) -> NDArray[np.float64]:
    wide = np.zeros(values.size + 2 * by)
    wide[by : by + values.size] = values
    return wide


def _between(values: NDArray[np.float64], first: NDArray[np.intp], last: NDArray[np.intp]) -> NDArray[np.float64]:
    sums = np.concatenate([[0.0], np.cumsum(values, dtype=np.float64)])
    return np.asarray(sums[last] - sums[first], np.float64)


def _steps(
    outside: NDArray[np.float32], hidden: NDArray[np.float32], band: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Evidence for a picture that begins, and that ends, before block i (0 .. n): how much more of the line lies
    outside beyond the edge than within, where nearly all beyond lies outside. Where the holder covers the beyond,
    the edge cannot be seen: no evidence."""
    n = outside.size
    sums = np.concatenate([[0.0], np.cumsum(outside, dtype=np.float64)])
    dark = np.concatenate([[0.0], np.cumsum(hidden, dtype=np.float64)])
    i = np.arange(n + 1)
    low, high = np.maximum(i - band, 0), np.minimum(i + band, n)
    before, after = (sums[i] - sums[low]) / band, (sums[high] - sums[i]) / band
    dim_before, dim_after = (dark[i] - dark[low]) / band, (dark[high] - dark[i]) / band
    rise = before**4 * (before - after) * (1 - dim_before)
    fall = after**4 * (after - before) * (1 - dim_after)
    return np.maximum(rise, 0.0), np.maximum(fall, 0.0)
