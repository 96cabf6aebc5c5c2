"""Perforations as a ruler: their pitch on 35 mm film is far steadier than any camera's gate."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.framing.corners import Corners
from rigd.imaging.levels import Three

PITCH_MM = 4.75
"""Long pitch of KS perforations (0.1870 in; SMPTE 139, second-hand). Old film has shrunk by up to 1 %."""
# Length of a perforation along the film (SMPTE 139, second-hand); half visible ones are left out.
_LENGTH_MM = 1.981
# Where the row of perforations is looked for, beyond the picture's long sides (their edge lies 0.7 mm out).
_FROM_MM, _TO_MM, _BAND_MM = 0.5, 3.0, 0.25
# Holes are lighter than the film between them by at least this ratio.
_RATIO = 1.06
_LEAST_HOLES = 4
_MORE_MM = 3.0

Array = NDArray[np.float64]


def perforation_scale(
    linear: NDArray[np.float32], corners: Corners, along_x: bool, rebate: Three, scale: float
) -> float | None:
    """Blocks a millimetre by the perforations beside a picture, or None where too few can be seen.

    `corners` in blocks of `linear` (h, w, 3); `along_x`: the film runs along x; `rebate`: L of the film beside the
    picture; `scale`: blocks a millimetre within 4 %."""
    tl, tr, br, bl = (np.array(p) for p in corners)
    sides = ((tl, tr, bl), (bl, br, tl)) if along_x else ((tl, bl, tr), (tr, br, tl))
    found = [p for side in sides if (p := _pitch(linear, side, rebate, scale)) is not None]
    return float(np.average([p for p, _ in found], weights=[n for _, n in found])) / PITCH_MM if found else None


def _pitch(
    linear: NDArray[np.float32], side: tuple[Array, Array, Array], rebate: Three, scale: float
) -> tuple[float, int] | None:
    """(pitch in blocks, perforations) along one side: its first, its last corner, and that across from the first."""
    first, last, across = side
    length = float(np.hypot(*(last - first)))
    along, out = (last - first) / length, (first - across) / np.hypot(*(first - across))
    # Gaps and a strip of the neighbours are in sight as well.
    reach = np.arange(-_MORE_MM * scale, length + _MORE_MM * scale)
    best: tuple[float, int] | None = None
    for at in np.arange(_FROM_MM, _TO_MM, _BAND_MM):
        depth = np.arange(at, at + _BAND_MM, max(0.05, 1 / scale)) * scale
        centres = _holes(_profile(linear, first, along, out, reach, depth, rebate), scale)
        fitted = _lattice(centres, PITCH_MM * scale)
        if fitted is not None and (best is None or fitted[1] > best[1]):
            best = fitted
    return best


def _profile(
    linear: NDArray[np.float32], first: Array, along: Array, out: Array, reach: Array, depth: Array, rebate: Three
) -> Array:
    """Light along a line beside the side, in units of the rebate's; NaN out of sight."""
    points = first + reach[None, :, None] * along + depth[:, None, None] * out - 0.5
    x, y = points[:, :, 0].astype(np.float32), points[:, :, 1].astype(np.float32)
    border = (-1.0,) * 4
    seen = cv2.remap(linear, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=border)
    light = sum(np.minimum(seen[:, :, c], 1.0) / 2.0 ** min(rebate[c], 0.0) for c in range(3))
    return np.asarray(np.where((seen < 0).any(axis=2), np.nan, light).mean(axis=0) / 3.0, np.float64)


def _holes(profile: Array, scale: float) -> Array:
    """Middles of the light stretches as long as a perforation, in blocks along the profile."""
    known = profile[np.isfinite(profile)]
    if known.size < 2 * PITCH_MM * scale:
        return np.empty(0)
    low, high = np.percentile(known, [15, 90])
    if high < _RATIO * max(low, 1e-6):
        return np.empty(0)
    over = np.where(np.isfinite(profile), profile, low) - (low + high) / 2
    rises = np.flatnonzero((over[:-1] <= 0) & (over[1:] > 0))
    falls = np.flatnonzero((over[:-1] > 0) & (over[1:] <= 0))
    starts = rises + over[rises] / (over[rises] - over[rises + 1])
    ends = falls + over[falls] / (over[falls] - over[falls + 1])
    following = np.searchsorted(ends, starts)
    pairs = [(s, ends[i]) for s, i in zip(starts, following, strict=True) if i < ends.size]
    return np.array([(s + e) / 2 for s, e in pairs if abs((e - s) / (_LENGTH_MM * scale) - 1) < 0.25])


def _lattice(centres: Array, pitch: float) -> tuple[float, int] | None:
    """(pitch, places) of evenly spaced places, if enough of them fit to a fiftieth of a pitch."""
    if centres.size < _LEAST_HOLES:
        return None
    steps = np.diff(centres)
    near = steps[np.abs(steps / pitch - 1) < 0.04]
    if near.size < _LEAST_HOLES - 1:
        return None
    step = float(np.median(near))
    number = np.rint((centres - centres[0]) / step)
    for _ in range(3):
        slope, origin = np.polyfit(number, centres, 1)
        good = np.abs(centres - origin - slope * number) < 0.02 * pitch
        if good.sum() < _LEAST_HOLES or np.ptp(number[good]) < _LEAST_HOLES - 1:
            return None
        centres, number = centres[good], number[good]
    return float(slope), int(centres.size)
