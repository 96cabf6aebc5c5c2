"""The picture cut out, straight and the right way round, in one resampling at most."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.framing import Corners
from rigd.imaging.positive.mosaic import Words

_SHEAR_PX = 0.5
"""Film lies straight enough to be cut without resampling if no edge runs off by more than this over its length."""
_LARGEST_TURN = 15.0
"""Found corners that lie further round than this, in degrees, are no picture."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Where the finished picture comes from: `matrix` (2, 3) takes its pixels to the sensor's; `size` (w, h)."""

    matrix: tuple[tuple[float, float, float], tuple[float, float, float]]
    size: tuple[int, int]
    resampled: bool
    turned_deg: float


def place(corners: Corners, margin_px: float = 0.0, quarter_turns: int = 0, mirrored: bool = False) -> Placing:
    """Cut to a rectangle about the four found corners (sensor px, clockwise from the upper left), `margin_px` wider on
    each side (negative: tighter), turned clockwise by so many quarters, mirrored left to right after that.

    Raises:
        ValueError: the corners do not make a rectangle near upright, or nothing is left inside the margin.
    """
    points = np.asarray(corners, np.float64)
    across, down = points[1] - points[0] + points[2] - points[3], points[3] - points[0] + points[2] - points[1]
    angle = math.atan2(across[1] - down[0], across[0] + down[1])
    width, height = float(np.hypot(*across)) / 2, float(np.hypot(*down)) / 2
    if abs(math.degrees(angle)) > _LARGEST_TURN:
        raise ValueError("the found corners lie too far round to be those of a frame")
    straight = abs(math.sin(angle)) * max(width, height) <= _SHEAR_PX
    angle = 0.0 if straight else angle
    w, h = round(width + 2 * margin_px), round(height + 2 * margin_px)
    if w < 2 or h < 2:
        raise ValueError("nothing of the frame is left inside the margin")
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, -sin], [sin, cos]])
    start = points.mean(axis=0) - turn @ np.array([(w - 1) / 2, (h - 1) / 2])
    if straight:
        start = np.rint(start)
    cut = np.vstack([np.column_stack([turn, start]), [0.0, 0.0, 1.0]])
    around, size = _around(w, h, quarter_turns % 4, mirrored)
    whole = cut @ around
    first, second = ((float(r[0]), float(r[1]), float(r[2])) for r in whole[:2])
    return Placing((first, second), size, not straight, math.degrees(angle))


def _around(w: int, h: int, turns: int, mirrored: bool) -> tuple[NDArray[np.float64], tuple[int, int]]:
    """From pixels of the turned picture to those of the upright one (w, h), and the turned one's size."""
    size = (h, w) if turns % 2 else (w, h)
    last_x, last_y = w - 1, h - 1
    table = {
        0: [[1, 0, 0], [0, 1, 0]],
        1: [[0, 1, 0], [-1, 0, last_y]],
        2: [[-1, 0, last_x], [0, -1, last_y]],
        3: [[0, -1, last_x], [1, 0, 0]],
    }
    back = np.array([*table[turns], [0, 0, 1]], np.float64)
    if mirrored:
        back = back @ np.array([[-1, 0, size[0] - 1], [0, 1, 0], [0, 0, 1]], np.float64)
    return back, size


def straighten(picture: Words, placing: Placing) -> Words:
    """The picture cut out by `placing`, (h, w) or (h, w, 3) uint16; what lies beyond the sensor is black."""
    how = (cv2.INTER_CUBIC if placing.resampled else cv2.INTER_NEAREST) | cv2.WARP_INVERSE_MAP
    cut = cv2.warpAffine(picture, np.asarray(placing.matrix), placing.size, flags=how, borderMode=cv2.BORDER_CONSTANT)
    return np.asarray(cut, np.uint16)
