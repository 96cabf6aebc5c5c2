"""How a found picture lies in the sight: offset, turn, and what is cut off, in the operator's units."""

from __future__ import annotations

from math import atan2, degrees

import cv2
import numpy as np
from msgspec import Struct

from rigd.imaging.framing import Corners


class Placement(Struct, frozen=True):
    """`offset_mm`: the picture's middle against the sight's, (x, y), right and down positive. `turn_deg`: clockwise
    positive. `cut_pct`: share of the picture beyond the sensor. `size_mm`: its mean width and height."""

    offset_mm: tuple[float, float]
    turn_deg: float
    cut_pct: float
    size_mm: tuple[float, float]


def placement(corners: Corners, sight: tuple[int, int], px_per_mm: float) -> Placement:
    """Measure four corners (sensor pixels) in a sight of (width, height) pixels."""
    points = np.array(corners, np.float64)
    tl, tr, br, bl = points
    across, down = (tr - tl + br - bl) / 2, (bl - tl + br - tr) / 2
    # Both directions tell the turn; the longer tells it better.
    turns = np.array([atan2(across[1], across[0]), atan2(-down[0], down[1])])
    weights = np.array([across @ across, down @ down])
    off = (points.mean(axis=0) - np.array(sight) / 2) / px_per_mm
    size = (float(np.hypot(*across)) / px_per_mm, float(np.hypot(*down)) / px_per_mm)
    turn = degrees(float(np.average(turns, weights=weights)))
    return Placement((float(off[0]), float(off[1])), turn, 100 * _cut(points, sight), size)


def _cut(points: np.ndarray[tuple[int, int], np.dtype[np.float64]], sight: tuple[int, int]) -> float:
    width, height = sight
    frame = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    whole = points.astype(np.float32)
    seen, _ = cv2.intersectConvexConvex(whole, frame)
    area = float(cv2.contourArea(whole))
    return max(0.0, 1.0 - float(seen) / area) if area > 0 else 0.0
