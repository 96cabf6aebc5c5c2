"""The level of clear film (base) in a picture of a negative, where nobody has measured it before."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.levels import Three

# Steps of the level histogram: finer than base and lamp ever lie together, coarser than noise of block means.
_BIN = 0.05
# Clear film around a picture covers more of what the camera sees than this; a highlight's flat heart covers less.
_LEAST = 0.012
# Neighbouring blocks of clear film differ by no more than this, in stops.
_FLAT = 0.12
# Blocks at most this far from the lamp's own level show the lamp, not film: the clearest base takes 0.1 stop away.
_LAMP = 0.12


def flat_blocks(green: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Which blocks of (h, w) levels differ little from their neighbours."""
    kernel = np.ones((3, 3), np.uint8)
    span = cv2.dilate(green, kernel) - cv2.erode(green, kernel)
    return np.asarray(span < _FLAT, bool)


def bare(levels: NDArray[np.float32], lamp: Three) -> NDArray[np.bool_]:
    """Which blocks show the bare lamp. Where it is saturated, whatever is saturated in every channel."""
    near = np.abs(levels - np.minimum(np.asarray(lamp, np.float32), 0.0)) < _LAMP
    return np.asarray(near.all(axis=2), bool)


def clear_level(levels: NDArray[np.float32], lamp: Three | None = None) -> Three | None:
    """L of the base by channel, from reduced `levels` (h, w, 3): the lightest level that a good part of the flat
    blocks shares and that is not the bare lamp. None where there is no such level."""
    green = levels[:, :, 1]
    flat = flat_blocks(green)
    if lamp is not None:
        flat &= ~bare(levels, lamp)
    values = green[flat]
    if values.size < _LEAST * green.size:
        return None
    edges = np.arange(values.min() - _BIN, values.max() + 3 * _BIN, _BIN)
    counts = np.histogram(values, edges)[0]
    smooth = np.convolve(counts, np.ones(5), "same")
    crest = (smooth >= np.roll(smooth, 1)) & (smooth > np.roll(smooth, -1))
    peaks = np.flatnonzero(crest & (smooth >= _LEAST * green.size))
    if not peaks.size:
        return None
    at = float(edges[peaks[-1]] + _BIN / 2)
    here = flat & (np.abs(green - at) < 2.5 * _BIN)
    red, grn, blue = (float(np.median(levels[:, :, c][here])) for c in range(3))
    return red, grn, blue
