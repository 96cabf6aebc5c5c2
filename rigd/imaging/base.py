"""The film's base: in a take of clear film, and beside a picture."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np

from rigd.imaging.framing import Corners
from rigd.imaging.levels import Three, histogram
from rigd.imaging.planes import Reduced
from rigd.imaging.raw import Raw

# A level this near to saturation may be any amount over it.
_FULL = -0.05
# Under this, in stops, a 14-bit file has some thirty units: noise moves the level.
_DARK = -9.0
# Clear film with its grain, dust and the lamp's fall-off spreads less than this between its 1 % and 99 % points; any
# picture, and any edge, spreads more.
_PLAIN_STOPS = 1.0


# From, to: so far outside the picture lies base on every format, clear of its edge's blur (gaps are 2 mm and more).
_BESIDE_MM = (0.4, 1.1)
# Base is even; with a neighbouring picture or the film's end in it, the strip spreads more, in stops.
_EVEN_STOPS = 0.35
# Fewer blocks tell nothing.
_LEAST_BLOCKS = 12

Point = tuple[float, float]
Amiss = Literal["full", "dark", "picture"]


def base_level(raw: Raw, seconds: float) -> Three | Amiss:
    """The level of R, G, B for 1 s of the clear film in the middle ninth of the sensor's sight; or why it is none:
    saturated, lost in black, or no plain film."""
    height, width = raw.mosaic.shape
    found = histogram(raw, (width // 3, height // 3, width - width // 3, height - height // 3))
    level = (found.point(0, 0.5), found.point(1, 0.5), found.point(2, 0.5))
    lead = int(np.argmax(level))
    if max(level) > _FULL or found.point(lead, 0.99) > _FULL:
        return "full"
    if max(level) < _DARK:
        return "dark"
    if found.point(lead, 0.99) - found.point(lead, 0.01) > _PLAIN_STOPS:
        return "picture"
    red, green, blue = (value - float(np.log2(raw.seconds or seconds)) for value in level)
    return red, green, blue


def base_beside(small: Reduced, corners: Corners, px_per_mm: float, along_x: bool) -> Three | None:
    """L of R, G, B of the film just outside the picture's two ends, the lighter of both; None where neither is even,
    or where it is saturated. `corners` in sensor pixels, clockwise from the top left."""
    found = [one for ends in _ends(corners, along_x) if (one := _strip(small, *ends, px_per_mm)) is not None]
    best = max(found, key=max, default=None)
    return best if best is not None and max(best) < _FULL else None


def _ends(corners: Corners, along_x: bool) -> list[tuple[Point, Point, Point, Point]]:
    """The picture's two ends along the film, each as its two corners and the two opposite."""
    a, b, c, d = corners
    return [(a, d, b, c), (b, c, a, d)] if along_x else [(a, b, d, c), (d, c, a, b)]


def _strip(small: Reduced, one: Point, other: Point, far: Point, farther: Point, px_per_mm: float) -> Three | None:
    """The median of a strip outside the side from `one` to `other`; `far` and `farther` lie opposite them."""

    def out(here: Point, across: Point, mm: float) -> tuple[float, float]:
        length = float(np.hypot(here[0] - across[0], here[1] - across[1])) or 1.0
        away = mm * px_per_mm / length
        x, y = here[0] + (here[0] - across[0]) * away, here[1] + (here[1] - across[1]) * away
        return x / small.step, y / small.step

    near, wide = _BESIDE_MM
    shape = [out(one, far, near), out(other, farther, near), out(other, farther, wide), out(one, far, wide)]
    mask = np.zeros(small.linear.shape[:2], np.uint8)
    cv2.fillConvexPoly(mask, np.rint(np.array(shape)).astype(np.int32), 1)
    values = small.linear[mask > 0]
    if len(values) < _LEAST_BLOCKS:
        return None
    low, middle, high = np.percentile(np.maximum(values, 2.0**-13), (10, 50, 90), axis=0)
    if float(np.log2(high / low).max()) > _EVEN_STOPS:
        return None
    red, green, blue = (float(v) for v in np.log2(middle))
    return red, green, blue
