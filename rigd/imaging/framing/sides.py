"""The four sides to a small part of a block: a straight line through the places where rebate turns into picture."""

from __future__ import annotations

from math import log2

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

# How far beyond the coarse edge, and how far within, the true one is looked for.
_BEYOND_MM, _WITHIN_MM = 1.2, 2.4
# Picture and rebate differ by at least this at an edge that can be seen, in stops, and by so many times the noise.
_CONTRAST, _NOISES = 0.12, 5.0
# A faint edge differs by at least this share of the rebate's light in the mean of the whole side.
_FAINT = 0.015
# Blocks compared on either side of a faint step.
_STEP = 4
# Lines are averaged over so much of the side: noise goes, the edge stays.
_ALONG_MM = 0.4
# The lamp's light falls off by less than this between the sight's middle and its rim, in stops.
_FALLOFF = 0.3
# Places within this of the line support it.
_NEAR_MM = 0.1
# A side is sure where so much of its length supports it.
SUPPORT = 0.1
# An outer line with less of the best line's support is print on the film's edge, or dirt.
_RIVAL = 0.5
# Rebate is clear where fewer lines than this show anything, and lies between two things if as wide as the least gap.
_CLEAR, _GAP_MM = 0.05, 0.3
# A side's own slope counts where so much of its length supports it; else it takes the slope of the others.
_OWN_SLOPE = 0.4
_ROUNDS = 10

Array = NDArray[np.float64]


class Side(Struct, frozen=True):
    """A line: `place` at the middle of the side (blocks, across it), `slope` (blocks a block along it), `support`
    (share of its length), `middle` (blocks along it, where `place` holds)."""

    place: float
    slope: float
    support: float
    middle: float

    @property
    def sure(self) -> bool:
        return self.support >= SUPPORT

    @property
    def own_slope(self) -> bool:
        """True where enough of its length was seen to trust its direction."""
        return self.support >= _OWN_SLOPE


class Line(Struct, frozen=True):
    """Where to look: `guess` (blocks), `span` (first and last line of the side), `inward` (+1 where the picture lies
    to the right, -1 to the left), `darker` (the picture against the rebate: True on a negative), and the slope, where
    it is known from other sides."""

    guess: float
    span: tuple[float, float]
    inward: int
    darker: bool
    slope: float | None = None


def find_side(light: NDArray[np.float32], look: Line, rebate: float, mm: float) -> Side:
    """Refine one upright side in `light` (lines, blocks): brightness, with `rebate` that of the rebate and `mm`
    blocks a millimetre. The outermost straight edge with enough support wins: beyond the picture there is nothing,
    while edges within it are the picture's own."""
    beyond, within = max(5, round(_BEYOND_MM * mm)), max(5, round(_WITHIN_MM * mm))
    first, last = max(0, round(look.span[0])), min(light.shape[0], round(look.span[1]))
    middle = (first + last) / 2
    nothing = Side(look.guess, look.slope or 0.0, 0.0, middle)
    if last - first < 8 or not within / 2 < look.guess < light.shape[1] - within / 2:
        return nothing
    lines = np.arange(first, last, dtype=np.float64) + 0.5 - middle
    starts = look.guess + (look.slope or 0.0) * lines - look.inward * beyond
    strip = _strip(light, first, starts, beyond + within, look.inward)
    off = strip / _near_rebate(strip, rebate, beyond) - 1.0
    off = np.asarray(cv2.blur(-off if look.darker else off, (1, max(1, round(_ALONG_MM * mm)))), np.float64)
    over = off > _threshold(off)
    rows, at = _crossings(off, over)
    found = _best_line(lines[rows], starts[rows] + look.inward * at, over, (look, starts.mean()), mm)
    if found and found[2] >= SUPPORT:
        return Side(found[0], found[1], found[2], middle)
    at_all = _faint(off) if look.slope is not None else None
    if at_all is None:
        return nothing
    return Side(look.guess + look.inward * (at_all - beyond), look.slope or 0.0, SUPPORT, middle)


def _strip(light: NDArray[np.float32], first: int, starts: Array, length: int, inward: int) -> Array:
    """Blocks along each line from `starts` (blocks, for lines from `first` on) towards the picture's inside."""
    x = starts[:, None] + inward * (np.arange(length) + 0.5)[None, :] - 0.5
    y = np.broadcast_to(np.arange(first, first + starts.size)[:, None], x.shape)
    maps = x.astype(np.float32), y.astype(np.float32)
    return np.asarray(cv2.remap(light, *maps, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64)


def _faint(off: Array) -> float | None:
    """Where the mean of all lines leaves the rebate for good: a thin picture's edge, too faint to be seen on any one
    line. The lines must have been laid along the side."""
    low, high = np.quantile(off, [0.05, 0.95], axis=0)
    mean = np.clip(off, low, high).mean(axis=0)
    sums = np.concatenate([[0.0], np.cumsum(mean)])
    i = np.arange(_STEP, mean.size - _STEP + 1)
    step = (sums[i + _STEP] - 2 * sums[i] + sums[i - _STEP]) / _STEP
    noise = 1.4826 * float(np.median(np.abs(np.diff(mean)))) / 2**0.5
    high_enough = np.flatnonzero(step > max(_FAINT, 4 * noise))
    if not high_enough.size:
        return None
    near = step[high_enough[0] : high_enough[0] + 2 * _STEP]
    at = int(i[high_enough[0] + int(np.argmax(near))])
    before, after = mean[at - _STEP : at - 1].mean(), mean[at + 1 : at + _STEP].mean()
    if after <= before:
        return None
    share = (mean[at - 1 : at + 1] - before) / (after - before)
    return at - 0.5 + float(np.clip((0.5 - share[0]) / max(share[1] - share[0], 1e-6), 0.0, 1.0))


def _near_rebate(strip: Array, rebate: float, beyond: int) -> float:
    """The rebate's light beside this side: the lamp falls off. As given where something else lies beside it."""
    here = float(np.median(strip[:, beyond // 3 : max(beyond // 3 + 1, 3 * beyond // 4)]))
    falls: float = abs(log2(max(here, 1e-6) / max(rebate, 1e-6)))
    return here if falls < _FALLOFF else rebate


def _threshold(off: Array) -> float:
    """What a block must differ from the rebate to be something else."""
    calm = np.abs(off[np.abs(off) < 0.15])
    noise = 1.4826 * float(np.median(calm)) if calm.size > 20 else 0.02
    return max(float(2.0**_CONTRAST) - 1, _NOISES * noise)


def _crossings(off: Array, over: NDArray[np.bool_]) -> tuple[NDArray[np.intp], Array]:
    """Wherever on the lines of a strip (outside on the left) something begins: (lines, blocks from the left rim). A
    line may tell several: print on the film's edge, the picture, what lies in it. `off`: how far each block is from
    the rebate, as a share of its light, positive in the picture. A block's value stands at its middle; the edge is
    where it is half-way."""
    begins = over[:, 1:-2] & over[:, 2:-1] & over[:, 3:] & ~over[:, :-3]
    rows, at = np.nonzero(begins)
    return rows, _half_way(off, rows, at + 1)


def _half_way(off: Array, rows: NDArray[np.intp], at: NDArray[np.intp]) -> Array:
    """Between the blocks around `at`, where the difference from the rebate is half of what it is two blocks on."""
    last = off.shape[1] - 1
    inside = off[rows, np.minimum(at + 2, last)]
    inside = np.where(inside == 0, 1.0, inside)
    found = np.asarray(at + 0.5, np.float64)
    done = np.zeros(rows.size, bool)
    for ahead in (-1, 0, 1):
        here = np.clip(at + ahead, 0, last - 1)
        low, high = off[rows, here] / inside, off[rows, here + 1] / inside
        hit = ~done & (low <= 0.5) & (high > 0.5)
        part = (0.5 - low) / np.where(high > low, high - low, 1.0)
        found[hit] = (here + 0.5 + part)[hit]
        done |= hit
    return found


def _best_line(
    lines: Array, places: Array, over: NDArray[np.bool_], where: tuple[Line, float], mm: float
) -> tuple[float, float, float] | None:
    """(place, slope, support) of the line that is the picture's side: the outermost that enough places support, unless
    clear rebate lies between it and the next, as it does within print and neighbours."""
    look, start = where
    length, near = over.shape[0], _NEAR_MM * mm
    if lines.size < max(8, SUPPORT * length / 2):
        return None
    slope = look.slope if look.slope is not None else _first_slope(lines, places)
    flat = np.sort((places - slope * lines - start) * look.inward)
    groups = _groups(flat, near, max(8.0, SUPPORT * length))
    clear = over.mean(axis=0) < _CLEAR
    best = groups[0]
    for group in groups[1:]:
        if _clear_run(clear[max(0, round(best)) : max(0, round(group))]) >= _GAP_MM * mm:
            best = group
    place = start + look.inward * best
    return _settled(lines, places, length, near, (place, slope), look.slope is not None)


def _groups(flat: Array, near: float, least: float) -> list[float]:
    """Where sorted places crowd, from the outermost on: at least `least`, and half as many as in the best crowd."""
    crowd = np.searchsorted(flat, flat + 2 * near, side="right") - np.arange(flat.size)
    enough = crowd >= max(least, _RIVAL * int(crowd.max()))
    if not enough.any():
        enough = crowd == crowd.max()
    found: list[float] = []
    for i in np.flatnonzero(enough):
        if found and flat[i] < found[-1] + 2 * near:
            continue
        group = slice(i, i + int(crowd[i]))
        densest = i + int(np.argmax(crowd[group]))
        found.append(float(np.median(flat[densest : densest + int(crowd[densest])])))
    return found


def _clear_run(clear: NDArray[np.bool_]) -> int:
    """The longest run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], clear.astype(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max()) if edges.size else 0


def _settled(
    lines: Array, places: Array, length: int, near: float, start: tuple[float, float], keep: bool
) -> tuple[float, float, float] | None:
    """A robust straight line (Tukey's weights) from a first one; with `keep` its slope stays unless well supported."""
    place, slope = start
    width = 4 * near
    for _ in range(_ROUNDS):
        off = places - place - slope * lines
        weight = np.clip(1 - (off / width) ** 2, 0.0, None) * (np.abs(off) < width)
        total = float((weight**2).sum())
        if total < 4:
            return None
        weight = weight**2 / total
        mean_x, mean_y = float(weight @ lines), float(weight @ places)
        spread = float(weight @ (lines - mean_x) ** 2)
        free = spread > (length / 6) ** 2 or not keep
        if free and spread > 1e-9:
            slope = float(weight @ ((lines - mean_x) * (places - mean_y))) / spread
        place = mean_y - slope * mean_x
        width = max(2 * near, 0.8 * width)
    support = float((np.abs(places - place - slope * lines) < near).sum()) / length
    return place, slope, support


def _first_slope(lines: Array, places: Array) -> float:
    """A first slope: the most frequent among pairs half the side apart; level where it would be over 3 degrees."""
    half = lines.size // 2
    run = lines[half : 2 * half] - lines[:half]
    slopes = (places[half : 2 * half] - places[:half]) / np.where(run == 0, 1.0, run)
    slopes = slopes[(np.abs(slopes) < 0.05) & (run > 4)]
    if slopes.size < 8:
        return 0.0
    counts, edges = np.histogram(slopes, bins=50, range=(-0.05, 0.05))
    counts = np.convolve(counts, [1, 1, 1], "same")
    top = int(np.argmax(counts))
    return float(np.median(slopes[(slopes >= edges[max(0, top - 1)]) & (slopes <= edges[min(50, top + 2)])]))
