"""What each block of the reduced copy may be: holder, bare lamp, rebate, or something else (the picture)."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.levels import Three
from rigd.model.words import Tone

# Added to every block before the logarithm: under it noise would look like structure (D 3.2 under saturation).
SOFT = 2.0**-10.5
# Steps of the level histogram: finer than base and lamp ever lie together, coarser than the noise of block means.
_BIN = 0.05
# Rebate around a picture covers more of what the camera sees than this.
_LEAST = 0.008
# Neighbouring blocks of rebate differ by no more than this, in stops.
_FLAT = 0.12
# Film within this of the rebate is rebate: more than a lamp falls off, less than most exposure.
LIKE = 0.22
# Blocks at most this far from the lamp's own level show the lamp, not film: the clearest base takes 0.1 stop away.
_LAMP = 0.12
# The holder is darker than the lightest blocks by at least this; the densest part of a negative is not (D 2.1).
_HOLDER = 7.0
_CANDIDATES = 5


@dataclass(frozen=True, slots=True, eq=False)
class Kinds:
    """`outside` (h, w): 1.0 where a block may be rebate, gap, holder or lamp, else 0.0. `hidden` (h, w): holder.
    `rebate`: the level by channel that the map was made for."""

    outside: NDArray[np.float32]
    hidden: NDArray[np.float32]
    rebate: Three


def soft_levels(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    """log2 of the shares of saturation (h, w, 3), made insensitive to noise near black."""
    logs = np.asarray(cv2.log(np.maximum(linear, 0) + np.float32(SOFT)), np.float32)
    return logs.reshape(linear.shape) * np.float32(1 / np.log(2.0))


def soft(level: Three) -> Three:
    """A level as `soft_levels` shows it; over saturation it is saturated."""
    red, green, blue = (float(np.log2(min(2.0**value, 1.0) + SOFT)) for value in level)
    return red, green, blue


def rebate_levels(levels: NDArray[np.float32], tone: Tone, lamp: Three | None) -> list[Three]:
    """Levels that may be the rebate's, likeliest first: those that many flat blocks share, the lightest first on a
    negative, the darkest on a positive. The bare lamp is left out where it is known."""
    green = levels[:, :, 1]
    kernel = np.ones((3, 3), np.uint8)
    usable = cv2.dilate(green, kernel) - cv2.erode(green, kernel) < _FLAT
    if tone is Tone.NEGATIVE:
        usable &= ~holder(levels)
    # Where the lamp is saturated the base may be as well: saturated blocks are then either.
    if lamp is not None and (tone is Tone.POSITIVE or min(lamp) < -_LAMP):
        usable &= ~bare(levels, lamp)
    values = green[usable]
    if values.size < _LEAST * green.size:
        return []
    edges = np.arange(values.min() - 3 * _BIN, values.max() + 4 * _BIN, _BIN)
    counts = np.convolve(np.histogram(values, edges)[0], np.ones(5), "same")
    crest = (counts >= np.roll(counts, 1)) & (counts > np.roll(counts, -1)) & (counts >= _LEAST * green.size)
    peaks = [float(edges[i] + _BIN / 2) for i in np.flatnonzero(crest)]
    order = sorted(peaks, reverse=tone is Tone.NEGATIVE)[:_CANDIDATES]
    return [_medians(levels, usable & (np.abs(green - at) < 2.5 * _BIN)) for at in order]


def _medians(levels: NDArray[np.float32], where: NDArray[np.bool_]) -> Three:
    red, green, blue = (float(np.median(levels[:, :, c][where])) for c in range(3))
    return red, green, blue


def bare(levels: NDArray[np.float32], lamp: Three) -> NDArray[np.bool_]:
    """Which blocks show the bare lamp; where it is saturated, whatever is saturated in every channel."""
    level = np.asarray(soft(lamp))
    return within(levels, level - _LAMP, level + _LAMP)


def within(levels: NDArray[np.float32], low: NDArray[np.float64], high: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which blocks lie between two levels in every channel."""
    return np.asarray(cv2.inRange(levels, low, high) > 0, bool)


def holder(levels: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Which blocks show the holder: as dark as the darkest rim of the sight, if that is dark enough to be one."""
    green = levels[:, :, 1]
    rims = (green[:2].ravel(), green[-2:].ravel(), green[:, :2].ravel(), green[:, -2:].ravel())
    darkest = min(float(np.median(rim)) for rim in rims)
    if darkest > np.percentile(green[::4, ::4], 99) - _HOLDER:
        return np.zeros(green.shape, bool)
    return np.asarray(green < darkest + LIKE, bool)


def kinds(levels: NDArray[np.float32], tone: Tone, rebate: Three, lamp: Three | None) -> Kinds:
    """Classify blocks of soft `levels` (h, w, 3) against one rebate level. On a negative nothing on film is lighter
    than the base, on a positive nothing is darker than the rebate: whatever is lies outside the picture too. A
    positive's rebate is as black as the holder, which therefore hides nothing there."""
    level = np.asarray(rebate)
    if tone is Tone.NEGATIVE:
        hidden = holder(levels)
        outside = hidden | within(levels, level - LIKE, level + 99.0)
    else:
        hidden = np.zeros(levels.shape[:2], bool)
        outside = within(levels, level - 99.0, level + LIKE)
        if lamp is not None:
            # Blocks half in a perforation are neither lamp nor rebate, but no picture either.
            outside |= cv2.dilate(bare(levels, lamp).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    return Kinds(np.asarray(outside, np.float32), np.asarray(hidden, np.float32), rebate)
