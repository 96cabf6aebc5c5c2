"""Four sides to four corners; a side that was not seen is put where its opposite and the format say."""

from __future__ import annotations

import numpy as np

from rigd.imaging.framing.sides import Side

Point = tuple[float, float]
Corners = tuple[Point, Point, Point, Point]
"""Four points (x, y): top left, top right, bottom right, bottom left."""
# Cameras' gates differ from nominal by a few per cent; the scale is known within a few as well.
_SIZE = 0.06
Four = tuple[Side, Side, Side, Side]
"""Left, top, right, bottom. Left and right are x over y, top and bottom y over x."""


def turn_of(sides: Four) -> float:
    """The picture's turn as a slope (radians, clockwise on the screen), from all sides by their support."""
    turns = [-sides[0].slope, sides[1].slope, -sides[2].slope, sides[3].slope]
    weights = np.array([s.support if s.own_slope else 0.0 for s in sides])
    if weights.sum() == 0:
        weights = np.array([s.support for s in sides])
    return float(np.average(turns, weights=weights)) if weights.sum() else 0.0


def corners_of(sides: Four, size: tuple[float, float]) -> Corners | None:
    """Corners, if at least three sides are sure and lie as far apart as the format says, within 6 %. `size`: nominal
    (x, y), also for a side not seen."""
    left, top, right, bottom = sides
    if sum(s.sure for s in sides) < 3:
        return None
    for first, last, nominal in ((left, right, size[0]), (top, bottom, size[1])):
        if first.sure and last.sure and abs((last.place - first.place) / nominal - 1) > _SIZE:
            return None
    turn = turn_of(sides)
    left, right = _completed(left, right, size[0], -turn)
    top, bottom = _completed(top, bottom, size[1], turn)
    pairs = ((left, top), (right, top), (right, bottom), (left, bottom))
    tl, tr, br, bl = (_meeting(upright, level) for upright, level in pairs)
    return tl, tr, br, bl


def _completed(first: Side, last: Side, size: float, slope: float) -> tuple[Side, Side]:
    first, last = (s if s.own_slope else Side(s.place, slope, s.support, s.middle) for s in (first, last))
    if not first.sure:
        first = Side(last.place - size, last.slope, first.support, last.middle)
    elif not last.sure:
        last = Side(first.place + size, first.slope, last.support, first.middle)
    return first, last


def _meeting(upright: Side, level: Side) -> Point:
    """Where x = place + slope (y - middle) and y = place + slope (x - middle) meet."""
    x0, a = upright.place - upright.slope * upright.middle, upright.slope
    y0, b = level.place - level.slope * level.middle, level.slope
    y = (y0 + b * x0) / (1 - a * b)
    return x0 + a * y, y
