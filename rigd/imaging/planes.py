"""The mosaic by colour, without copying it whole: the four planes of a box, and a reduced copy of the frame."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.raw import Raw

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in sensor pixels; right and bottom not included."""


@dataclass(frozen=True, slots=True, eq=False)
class Reduced:
    """A small copy: `linear` (h, w, 3) float32, mean of each block as a share of saturation, black subtracted (so it
    may be a little under 0); one value is `step` x `step` sensor pixels, the first block starting at pixel 0, 0."""

    linear: NDArray[np.float32]
    step: int


def even_box(box: Box, raw: Raw) -> Box:
    """The largest box of whole colour cells inside `box` and the mosaic."""
    height, width = raw.mosaic.shape
    left, top, right, bottom = box
    left, top = max(0, left + left % 2), max(0, top + top % 2)
    right, bottom = min(width, right) & ~1, min(height, bottom) & ~1
    return left, top, max(left, right), max(top, bottom)


def _row_pairs(mosaic: NDArray[np.uint16], box: Box, parity: int, every: int) -> NDArray[np.uint16]:
    """Rows of one parity as a view (rows, cells, 2): the last axis holds the two colours of the row."""
    left, top, right, bottom = box
    rows = mosaic[top + parity : bottom : 2 * every, left:right]
    return rows.reshape(rows.shape[0], (right - left) // 2, 2)


def planes(raw: Raw, box: Box, every: int = 1) -> Iterator[tuple[int, NDArray[np.uint16]]]:
    """(place 0..3 in the cell, its plane as a contiguous uint16 array) of a box of whole cells.
    `every` keeps one row of cells in so many."""
    for parity in (0, 1):
        pairs = _row_pairs(raw.mosaic, box, parity, every)
        for side in (0, 1):
            yield 2 * parity + side, np.asarray(cv2.extractChannel(pairs, side), dtype=np.uint16)


def reduce(raw: Raw, longest: int = 1200) -> Reduced:
    """The whole frame as block means, its longer side at most `longest` values."""
    return _reduce(raw, max(1, -(-max(raw.mosaic.shape) // (2 * longest))))


def for_judging(raw: Raw) -> Reduced:
    """The whole frame as block means, its longer side about 800 values: a tenth of a millimetre on 6 x 6, enough to
    find edges to a small part of that."""
    return _reduce(raw, max(1, round(max(raw.mosaic.shape) / 1600)))


def _reduce(raw: Raw, cells: int) -> Reduced:
    """Means of blocks of so many cells each way. Edge blocks that are not whole fall away; the two greens are
    averaged."""
    height, width = raw.mosaic.shape
    step = 2 * cells
    rows, columns = height // step, width // step
    box = (0, 0, columns * step, rows * step)
    sums = np.zeros((rows, columns, 3), np.float32)
    share = [1.0 / max(1, raw.pattern.count(channel)) for channel in range(3)]
    for parity in (0, 1):
        # Every second row of cells is enough for a mean of four by four and more, and halves the time.
        pairs = _row_pairs(raw.mosaic, box, parity, 2 if cells % 2 == 0 and cells >= 4 else 1)
        small = cv2.resize(pairs, (columns, rows), interpolation=cv2.INTER_AREA).reshape(rows, columns, 2)
        for side in (0, 1):
            place = 2 * parity + side
            channel, black = raw.pattern[place], raw.black[place]
            gain = share[channel] / (raw.white - black)
            sums[:, :, channel] += (small[:, :, side].astype(np.float32) - black) * np.float32(gain)
    if raw.mono:
        sums[:, :, 0] = sums[:, :, 2] = sums[:, :, 1]
    return Reduced(sums, step)
