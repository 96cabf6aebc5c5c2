"""Dust, scratches and pinholes: small spots that say nothing about the exposure, left out of the histogram."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.levels import Histogram, of_counts
from rigd.imaging.raw import Raw

SPECK_MM2 = 0.02
"""The largest spot that is left out (definition of exposure)."""
# More blocks than this share of the picture are texture, not dirt; then nothing is left out.
_MOST = 0.02


def spots(levels: NDArray[np.float32], dark: float, light: float, blocks: float) -> NDArray[np.bool_]:
    """Which blocks of reduced `levels` (h, w) belong to a spot: a connected group lighter than `light` or darker
    than `dark` that covers at most `blocks` blocks. All False where dirt cannot be told from texture."""
    found = np.zeros(levels.shape, bool)
    for mask in (levels > light, levels < dark):
        count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
        if count > 1:
            small = stats[:, cv2.CC_STAT_AREA] <= blocks
            small[0] = False
            found |= small[labels]
    return found if found.mean() <= _MOST else np.zeros(levels.shape, bool)


def counts_in(
    raw: Raw, blocks: NDArray[np.bool_], corner: tuple[int, int], step: int, top: int, every: int
) -> Histogram:
    """The histogram of the pixels of the marked blocks; `corner` (x, y) is where block 0, 0 starts. Of the rows of
    cells, one in `every` counts, beginning at `top`: the same that `levels.histogram` takes of a box."""
    rows, columns = np.nonzero(blocks)
    counts = np.zeros((3, 65536), np.int64)
    offsets = np.arange(0, step, 2)
    for place in range(4):
        y = corner[1] + rows[:, None, None] * step + offsets[None, :, None] + place // 2
        x = corner[0] + columns[:, None, None] * step + offsets[None, None, :] + place % 2
        y, x = np.broadcast_arrays(y, x)
        taken = (y - top) // 2 % every == 0
        counts[raw.pattern[place]] += np.bincount(raw.mosaic[y[taken], x[taken]], minlength=65536)
    return of_counts(raw, counts)
