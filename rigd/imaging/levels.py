"""Levels: stops under saturation, and the exact histogram of each channel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.planes import Box, even_box, planes
from rigd.imaging.raw import Raw

# One bin a raw value, so percentiles are exact. 16 bits hold every camera's values.
_BINS = 65536
# A plane of this many values gives the share over the ceiling (0.1 %) to a thirtieth of itself; more adds only time.
_ENOUGH = 1_200_000
# The page draws sixths of a stop over the 12 stops that a 14-bit file can hold.
DRAWN_FROM, DRAWN_STEPS = -12.0, 72

Three = tuple[float, float, float]


def stops(value: float, black: float, white: float) -> float:
    """L = log2((value - black) / (white - black)): 0 at saturation. A value at or under black counts as half a raw
    unit over it, since nothing smaller can be told from black."""
    return float(np.log2(max(value - black, 0.5) / (white - black)))


def stops_of(linear: NDArray[np.float32], floor: float) -> NDArray[np.float32]:
    """L of an array of shares of saturation, with the share `floor` as its least value; shape kept."""
    logs = cv2.log(np.maximum(linear, np.float32(floor)))
    return np.asarray(logs, np.float32).reshape(linear.shape) * np.float32(1.0 / np.log(2.0))


@dataclass(frozen=True, slots=True, eq=False)
class Histogram:
    """`counts` (3, 65536) int64: how many pixels of R, G, B have each raw value. `black` by channel, `white`."""

    counts: NDArray[np.int64]
    black: Three
    white: float

    def total(self, channel: int) -> int:
        return int(self.counts[channel].sum())

    def point(self, channel: int, share: float) -> float:
        """L of the `share` point: the least raw value that at least this share of the pixels does not exceed."""
        running = np.cumsum(self.counts[channel])
        if running[-1] == 0:
            raise ValueError("an empty histogram has no percentiles")
        # Shares like 0.995 are not exact in binary; a millionth of a pixel keeps whole counts whole.
        value = int(np.searchsorted(running, share * float(running[-1]) - 1e-6))
        return self.level(channel, value)

    def level(self, channel: int, value: float) -> float:
        """L of a raw value of that channel."""
        return stops(value, self.black[channel], self.white)

    def share_over(self, channel: int, level: float) -> float:
        """Share of the channel's pixels whose L is over `level`."""
        black = self.black[channel]
        first = int(np.floor(black + 2.0**level * (self.white - black))) + 1
        total = self.total(channel)
        return float(self.counts[channel, max(0, first) :].sum()) / total if total else 0.0

    def without(self, other: Histogram) -> Histogram:
        """This one less pixels that were counted in both."""
        return Histogram(self.counts - other.counts, self.black, self.white)


def histogram(raw: Raw, box: Box, every: int | None = None) -> Histogram:
    """Count the pixels of a box (trimmed to whole cells). `every`: one row of cells in so many; None: as many as are
    needed to leave about 1.2 million pixels a plane."""
    box = even_box(box, raw)
    every = every if every is not None else enough(box)
    counts = np.zeros((3, _BINS), np.int64)
    if box[2] > box[0] and box[3] > box[1]:
        for place, plane in planes(raw, box, every):
            found = cv2.calcHist([plane], [0], None, [_BINS], [0, _BINS])
            counts[raw.pattern[place]] += found.ravel().astype(np.int64)
    return of_counts(raw, counts)


def enough(box: Box) -> int:
    """One row of cells in so many leaves about 1.2 million pixels a plane."""
    return max(1, round((box[2] - box[0]) * (box[3] - box[1]) / 4 / _ENOUGH))


def of_counts(raw: Raw, counts: NDArray[np.int64]) -> Histogram:
    """A histogram of counts by pattern channel, with the file's black and white; a sensor without colour filters
    has the same counts in all three."""
    if raw.mono:
        counts = np.repeat(counts[1:2], 3, axis=0)
    return Histogram(counts, (_black(raw, 0), _black(raw, 1), _black(raw, 2)), raw.white)


def _black(raw: Raw, channel: int) -> float:
    own = [b for b, c in zip(raw.black, raw.pattern, strict=True) if c == channel or raw.mono]
    return sum(own) / len(own)


def drawn(found: Histogram) -> tuple[tuple[int, ...], ...]:
    """Counts by channel in sixths of a stop from -12 to 0, for drawing; the end bins hold what lies outside."""
    bins = []
    for channel in range(3):
        black = found.black[channel]
        values = np.maximum(np.arange(_BINS) - black, 0.5) / (found.white - black)
        place = np.clip(np.floor((np.log2(values) - DRAWN_FROM) * 6).astype(np.int64), 0, DRAWN_STEPS - 1)
        bins.append(tuple(int(n) for n in np.bincount(place, found.counts[channel], DRAWN_STEPS)))
    return tuple(bins)
