"""A picture framed by its seams alone: slower than by the rebate, but sure where the rebate is not."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.framing.corners import Corners
from rigd.imaging.framing.pairs import Edges, Kind, Strip, edges_of
from rigd.imaging.framing.seams import lay, lines_of, seams

# A band keeps so far from the picture's other two sides; the first, laid by guess, keeps farther.
_INSIDE, _FIRST = 0.04, 0.12
# The maps of rebate and holder are coarse: fewer lines tell as much.
_MAP_LINES = 40
# Out of sight there is nothing: darker than any film.
_NOTHING = -16.0

Plane = NDArray[np.float32]


class Sight(Struct, frozen=True):
    """What is seen, the film running along x: `levels` (h, w) in stops, coarse maps of what is `outside` the picture
    and `hidden`, of blocks of `factor` x `factor`; `mm`, `lighter`, `tried` as in `Strip`; `may_hide`: an end of the
    picture may lie under the holder."""

    levels: Plane
    outside: Plane
    hidden: Plane
    factor: int
    mm: float
    lighter: bool
    may_hide: bool
    tried: bool

    def turned(self) -> Sight:
        """The same with x and y exchanged."""
        levels, outside, hidden = (np.ascontiguousarray(p.T) for p in (self.levels, self.outside, self.hidden))
        return Sight(levels, outside, hidden, self.factor, self.mm, self.lighter, self.may_hide, self.tried)


class Straight(Struct, frozen=True):
    """`corners` in blocks; `support` of the left, top, right, bottom side: share of lines that show it (0.0: hidden);
    `score`: the sum of what speaks for them; `clear`: rebate, gap or holder lies beyond every side."""

    corners: Corners
    support: tuple[float, float, float, float]
    score: float
    clear: bool


def frame_by_seams(
    sight: Sight, box: tuple[float, float, float, float], size: tuple[float, float], turn: float, along_x: bool
) -> Straight | None:
    """Frame the picture near a coarse `box` (left, top, right, bottom in blocks): `size` nominal (x, y) in blocks,
    `turn` as a slope, clockwise."""
    if not along_x:
        left, top, right, bottom = box
        found = frame_by_seams(sight.turned(), (top, left, bottom, right), size[::-1], -turn, True)
        return None if found is None else _exchanged(found)
    turned, along = sight.turned(), Kind.MAY_HIDE if sight.may_hide else Kind.ALONG
    rims = _inner((box[1], box[3]), _FIRST)
    for _ in range(2):
        ends = _edges(sight, turn, rims, size[0], along)
        if ends is None:
            return None
        columns = _inner((ends.first.at, ends.last.at), _INSIDE)
        sides = _edges(turned, -turn, columns, size[1], Kind.ACROSS)
        if sides is None:
            return None
        turn += _more(ends, sides)
        rims = _inner((sides.first.at, sides.last.at), _INSIDE)
    ends = _edges(sight, turn, rims, size[0], along)
    sides = _edges(turned, -turn, columns, size[1], Kind.ACROSS)
    if ends is None or sides is None:
        return None
    support = (ends.first.shown, sides.first.shown, ends.last.shown, sides.last.shown)
    middle = (sum(columns) / 2, sum(rims) / 2)
    corners = _corners(ends, sides, middle, turn, sight.levels.shape)
    clear = all(e.clear for e in (ends.first, ends.last, sides.first, sides.last))
    return Straight(corners, support, ends.score + sides.score, clear)


def _inner(span: tuple[float, float], share: float) -> tuple[float, float]:
    trim = share * (span[1] - span[0])
    return span[0] + trim, span[1] - trim


def _edges(sight: Sight, turn: float, span: tuple[float, float], size: float, kind: Kind) -> Edges | None:
    """The two edges across x of the band between two lines, `at` in blocks of the turned frame."""
    height, width = sight.levels.shape
    span = (max(0.0, span[0]), min(float(height), span[1]))
    if span[1] - span[0] < 8:
        return None
    lines = lines_of(span)
    laid = lay(sight.levels, turn, span, lines, _NOTHING)
    found = seams(laid, sight.mm, (span[1] - span[0]) / (lines - 1))
    if not found:
        return None
    coarse = (span[0] / sight.factor, span[1] / sight.factor)
    outside, hidden = (_profile(lay(m, turn, coarse, _MAP_LINES, 1.0), width) for m in (sight.outside, sight.hidden))
    return edges_of(found, Strip(outside, hidden, sight.mm, sight.lighter, sight.tried), size, kind)


def _profile(laid: Plane, width: int) -> Plane:
    """The mean across a band of a coarse map, at each block along it."""
    mean = laid.mean(axis=0)
    places = (np.arange(width) + 0.5) / width * mean.size - 0.5
    return np.asarray(np.interp(places, np.arange(mean.size), mean), np.float32)


def _more(ends: Edges, sides: Edges) -> float:
    """What the edges' own slopes add to the turn, each as far as it was seen."""
    found = [(-e.slope, e.shown) for e in (ends.first, ends.last)]
    found += [(e.slope, e.shown) for e in (sides.first, sides.last)]
    return float(np.average([s for s, _ in found], weights=[w for _, w in found]))


def _corners(
    ends: Edges, sides: Edges, middle: tuple[float, float], turn: float, shape: tuple[int, ...]
) -> Corners:
    """Where the four lines meet, from the turned frame back to blocks."""
    points = []
    meet = ((ends.first, sides.first), (ends.last, sides.first), (ends.last, sides.last), (ends.first, sides.last))
    for end, side in meet:
        # u = end + a (v - middle v), v = side + b (u - middle u)
        a, b = end.slope, side.slope
        u = (end.at + a * (side.at - b * middle[0] - middle[1])) / (1 - a * b)
        v = side.at + b * (u - middle[0])
        points.append(_back(u, v, turn, shape))
    tl, tr, br, bl = points
    return tl, tr, br, bl


def _back(u: float, v: float, turn: float, shape: tuple[int, ...]) -> tuple[float, float]:
    height, width = shape
    stretch = 1 / float(np.hypot(1.0, turn))
    x, y = (u - width / 2) * stretch, (v - height / 2) * stretch
    return x - turn * y + width / 2, y + turn * x + height / 2


def _exchanged(found: Straight) -> Straight:
    """With x and y exchanged back: corners stay in order from the top left."""
    tl, tr, br, bl = ((y, x) for x, y in found.corners)
    left, top, right, bottom = found.support
    return Straight((tl, bl, br, tr), (top, left, bottom, right), found.score, found.clear)
