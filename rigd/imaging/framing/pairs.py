"""Two edges that belong together: as far apart as the format says, picture between them, and one way to read it."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.framing.seams import Seam

# Cameras' gates and the scale together differ from nominal by less than this.
SIZE = 0.045
# A difference of 3 % costs as much as a quarter of an edge; as a tenth where the scale was tried in steps.
_PRIOR, _PRIOR_TRIED = 0.25 / 0.03**2, 0.1 / 0.03**2
# Just inside and just outside an edge, from so far to so far away (mm).
_NEAR_MM, _FAR_MM = 0.2, 0.75
# So much of the band is rebate or gap: it is no picture; so much hidden: the holder covers it.
_CLEAR, _HIDDEN = 0.75, 0.5
# Inside an edge less than this is as clear as rebate (print on the rebate leaves more).
_PICTURE = 0.7
# Gap or rebate beyond an edge says as much for it as so many lines more.
_GAP = 0.3
# A reading of the band must be better than any other by so much.
_SURER = 0.2
# Readings nearer than this are the same (mm).
_SAME_MM = 0.3
# The rim of fog lies no farther from a picture than this (mm).
_RIM_MM = 3.0
# Frames do not overlap by more than this (mm).
_OVERLAP_MM = 6.0
# An edge beyond the pair, where there can be none, speaks against it like so many lines.
_STRAY = 0.2
# What a guessed edge costs more than its own lines: a reading with both is better where there is one.
_GUESSED = 0.4
# A picture that lies half under the holder is no frame.
_SEEN = 0.55

Profile = NDArray[np.float32]


class Kind(Enum):
    """Across the film no other picture lies beyond an edge; along it some may, and one edge may be hidden."""

    ACROSS = 1
    ALONG = 2
    MAY_HIDE = 3


class Edge(Struct, frozen=True):
    """`at` in blocks along the band; `shown` 0.0 where it is hidden and was put where the format says."""

    at: float
    slope: float
    shown: float
    clear: bool = False


class Edges(Struct, frozen=True):
    first: Edge
    last: Edge
    score: float


class Strip(Struct, frozen=True):
    """What is known of a band: share of `outside` (rebate, gap, lamp, holder) and `hidden` at each block along; blocks
    a millimetre; `lighter` where more exposure makes the film lighter (positives);
    `tried`: the scale is a try."""

    outside: Profile
    hidden: Profile
    mm: float
    lighter: bool
    tried: bool


def edges_of(found: Sequence[Seam], strip: Strip, size: float, kind: Kind) -> Edges | None:
    """The two edges about `size` blocks apart, one of which may lie under the holder or out of sight; None where there
    are none, or two ways to read the band."""
    begins, ends = _stripes(found, strip)
    firsts = _shared_gaps([e for s in found if s not in ends and (e := _edge(s, strip, 1))], strip.mm)
    lasts = _shared_gaps([e for s in reversed(found) if s not in begins and (e := _edge(s, strip, -1))], strip.mm)
    pairs = [p for a in firsts for b in lasts if (p := _pair(a, b, size, strip.tried)) is not None]
    if kind is Kind.ACROSS:
        pairs = [_alone_in(p, firsts, lasts, strip.mm) for p in pairs]
    elif kind is Kind.MAY_HIDE:
        pairs += [p for a in firsts if (p := _alone(a, strip, size, 1)) is not None]
        pairs += [p for b in lasts if (p := _alone(b, strip, size, -1)) is not None]
    pairs.sort(key=lambda p: -p.score)
    if not pairs or any(_other(pairs[0], p, strip.mm) and p.score > pairs[0].score - _SURER for p in pairs[1:]):
        return None
    return pairs[0]


def _stripes(found: Sequence[Seam], strip: Strip) -> tuple[list[Seam], list[Seam]]:
    """The first and the last ends of stripes that were exposed twice, where two pictures overlap: the second begins
    where the stripe does, and the first ends with it."""
    more = 1.0 if strip.lighter else -1.0
    begins, ends = [], []
    for one, two in pairwise(found):
        if two.at - one.at < _OVERLAP_MM * strip.mm and one.rise * more > 0 > two.rise * more:
            begins.append(one)
            ends.append(two)
    return begins, ends


def _edge(seam: Seam, strip: Strip, inward: int) -> Edge | None:
    """The seam as the picture's first (inward 1) or last (-1) edge; None where there is no picture within, or holder
    beyond."""
    inside, beyond = (_mean(strip.outside, seam.at, strip.mm, way) for way in (inward, -inward))
    if inside > _PICTURE or _mean(strip.hidden, seam.at, strip.mm, -inward) > _HIDDEN:
        return None
    return Edge(seam.at, seam.slope, seam.shown, beyond > _CLEAR)


def _shared_gaps(edges: Sequence[Edge], mm: float) -> list[Edge]:
    """From the outside in: an edge close within another that has a gap beyond it may be the picture's own, and the
    other the rim of fog. The gap speaks for both."""
    rims = [edge.at for edge in edges if edge.clear]
    return [Edge(e.at, e.slope, e.shown, e.clear or any(_within(e, at, edges, mm) for at in rims)) for e in edges]


def _within(edge: Edge, rim: float, edges: Sequence[Edge], mm: float) -> bool:
    inward = edges[-1].at - edges[0].at
    return 0 < (edge.at - rim) * (1 if inward > 0 else -1) < _RIM_MM * mm


def _mean(profile: Profile, at: float, mm: float, way: int) -> float:
    near, far = sorted((at + way * _NEAR_MM * mm, at + way * _FAR_MM * mm))
    part = profile[max(0, round(near)) : max(0, round(far))]
    return float(part.mean()) if part.size else 1.0


def _pair(first: Edge, last: Edge, size: float, tried: bool) -> Edges | None:
    off = (last.at - first.at) / size - 1
    if abs(off) > SIZE:
        return None
    gaps = _GAP * (first.clear + last.clear)
    return Edges(first, last, first.shown + last.shown + gaps - (_PRIOR_TRIED if tried else _PRIOR) * off**2)


def _alone(edge: Edge, strip: Strip, size: float, inward: int) -> Edges | None:
    """One edge, the other where the format says, if that is hidden or out of sight."""
    at = edge.at + inward * size
    n = strip.outside.size
    inside = 0 <= at < n - 1
    if inside and float(strip.hidden[int(at)]) < _HIDDEN:
        return None
    low, high = max(0, round(min(edge.at, at))), min(n, round(max(edge.at, at)))
    if float((strip.hidden[low:high] < _HIDDEN).sum()) < _SEEN * size:
        return None
    guess = Edge(at, edge.slope, 0.0)
    score = edge.shown + _GAP * edge.clear - _GUESSED
    return Edges(edge, guess, score) if inward > 0 else Edges(guess, edge, score)


def _alone_in(pair: Edges, firsts: Sequence[Edge], lasts: Sequence[Edge], mm: float) -> Edges:
    """The pair with less said for it where edges lie beyond it: those are the picture's then, and these within it."""
    near = _SAME_MM * mm
    strays = sum(e.at < pair.first.at - near for e in firsts) + sum(e.at > pair.last.at + near for e in lasts)
    return Edges(pair.first, pair.last, pair.score - _STRAY * strays)


def _other(one: Edges, two: Edges, mm: float) -> bool:
    return max(abs(one.first.at - two.first.at), abs(one.last.at - two.last.at)) > _SAME_MM * mm
