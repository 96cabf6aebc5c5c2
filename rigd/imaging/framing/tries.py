"""One coarse rectangle looked at closely: by where rebate turns into picture, and by seams where that is not sure."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.framing.coarse import Rectangle, shrink
from rigd.imaging.framing.corners import Corners, Four, corners_of, turn_of
from rigd.imaging.framing.kinds import LIKE, Kinds, bare, holder, soft_levels
from rigd.imaging.framing.sides import Line, find_side
from rigd.imaging.framing.straight import Sight, Straight, frame_by_seams
from rigd.imaging.levels import Three
from rigd.imaging.planes import Reduced
from rigd.model.words import Tone

# Support that each side needs where the scale is not known.
_ALONE = 0.3
# With so much of each side seen, the rebate alone is enough.
_SURE = 0.7
# Beyond a side lies no picture if so much of a band this wide is rebate, gap or holder.
_ALL_CLEAR, _BESIDE_MM = 0.7, 0.8
# Four sides seen on all their lines with gaps around them, 5.2 at best: no other reading can be as good.
_PLAIN = 4.9
# Two readings of one sight are the same within this (mm); the better one must be better by so much.
_SAME_MM, _SURER = 0.5, 0.15


class Try(Struct, frozen=True):
    """One coarse rectangle: the maps it was found in, the nominal size in blocks, blocks a millimetre, and whether
    the film runs along x."""

    rectangle: Rectangle
    found: Kinds
    size: tuple[float, float]
    scale: float
    along_x: bool


class Found(Struct, frozen=True):
    """A try with its corners in blocks and each side's support. `sure`: every side was seen on most of its length;
    `clear`: nothing but rebate, gap and holder beyond them."""

    one: Try
    corners: Corners
    support: tuple[float, float, float, float]
    sure: bool
    clear: bool


class How(Struct, frozen=True):
    """What is known: tone, lamp (L in this take), whether the scale is; `loose`: a mount's or holder's aperture is the
    frame; `may_hide`: which way the film runs is known, so that an end under the holder can be told; `rebate`:
    the corners that the rebate told, which seams that agree make sure."""

    tone: Tone
    lamp: Three | None
    scale_known: bool
    loose: bool
    may_hide: bool
    rebate: Corners | None = None


def by_rebate(
    small: Reduced, tries: list[Try], factor: int, kind: tuple[Tone, Three | None], scale_known: bool
) -> Found | None:
    """The first try with sides where rebate turns into picture."""
    for one in tries:
        sides = _sides(small, one, factor, *kind)
        corners = corners_of(sides, one.size)
        left, top, right, bottom = (s.support for s in sides)
        support = left, top, right, bottom
        # With nothing to say how large it is, every side must be there to see.
        if corners is not None and (scale_known or min(support) >= _ALONE):
            sure = scale_known and min(support) >= _SURE
            return Found(one, corners, support, sure, _clear_beyond(one, corners, factor))
    return None


def _clear_beyond(one: Try, corners: Corners, factor: int) -> bool:
    """True if nothing but rebate, gap or holder lies beyond each side: no neighbour that touches."""
    xs, ys = ([point[k] / factor for point in corners] for k in (0, 1))
    far, outside = max(2, round(_BESIDE_MM * one.scale / factor)), one.found.outside
    left, top, right, bottom = (max(0, round(v)) for v in (min(xs), min(ys), max(xs), max(ys)))
    rows, columns = slice(top, bottom), slice(left, right)
    beside = (
        outside[rows, max(0, left - far) : left], outside[max(0, top - far) : top, columns],
        outside[rows, right + 1 : right + far], outside[bottom + 1 : bottom + far, columns],
    )  # fmt: skip
    return all(part.size == 0 or float(part.mean()) > _ALL_CLEAR for part in beside)


def by_seams(small: Reduced, tries: list[Try], factor: int, how: How) -> Found | None:
    """The best of the tries framed by seams, unless another reading is as good."""
    levels = np.ascontiguousarray(soft_levels(small.linear)[:, :, 1])
    coarse = soft_levels(shrink(small.linear, factor))
    may_hide = how.may_hide and how.scale_known and not how.loose
    found: list[tuple[Try, Straight]] = []
    for one in tries:
        turn = turn_of(_sides(small, one, factor, how.tone, how.lamp))
        hidden = _hidden(coarse, one, how.tone) * np.float32(not how.loose)
        lighter, tried = how.tone is Tone.POSITIVE, not how.scale_known
        sight = Sight(levels, one.found.outside, hidden, factor, one.scale, lighter, may_hide, tried)
        r = one.rectangle
        box = (r.left * factor, r.top * factor, r.right * factor, r.bottom * factor)
        straight = frame_by_seams(sight, box, one.size, turn, one.along_x)
        # With nothing to say how large it is, nothing but gaps and rebate may lie around it.
        if straight is not None and (how.scale_known or straight.clear):
            found.append((one, straight))
            if not how.scale_known and straight.score > _PLAIN and _same(straight.corners, how.rebate, one.scale):
                return Found(one, straight.corners, straight.support, True, True)
    if not found:
        return None
    found.sort(key=lambda pair: -pair[1].score)
    one, best = found[0]
    surer = _SURER if how.scale_known else 3 * _SURER
    for _, other in found[1:]:
        if not _same(other.corners, best.corners, one.scale) and other.score > best.score - surer:
            return None
    return Found(one, best.corners, best.support, min(best.support) > 0, True)


def _same(one: Corners, other: Corners | None, mm: float) -> bool:
    return other is not None and float(np.abs(np.array(one) - np.array(other)).max()) < _SAME_MM * mm


def _hidden(coarse: NDArray[np.float32], one: Try, tone: Tone) -> NDArray[np.float32]:
    """Where the holder is. A positive's rebate is nearly as black: it must stand out from it, or nothing is hidden."""
    if tone is Tone.NEGATIVE:
        return one.found.hidden
    dark = holder(coarse)
    level = float(np.median(coarse[:, :, 1][dark])) if dark.any() else 0.0
    between = (level + one.found.rebate[1]) / 2
    return np.asarray(coarse[:, :, 1] < between, np.float32) * np.float32(between > level + 0.75 * LIKE)


def _sides(small: Reduced, one: Try, factor: int, tone: Tone, lamp: Three | None) -> Four:
    """The refined sides left, top, right, bottom, in blocks of the reduced copy: once each by itself, and once more
    with the turn that all of them tell."""
    rebate, scale = one.found.rebate, one.scale
    light = _light(small.linear, rebate, tone, lamp)
    level = 1.0 if tone is Tone.NEGATIVE else float(sum(2.0**value for value in rebate))
    left, top, right, bottom = (edge * factor for edge in _edges(one.rectangle))
    trim_x, trim_y = 0.04 * (right - left), 0.04 * (bottom - top)
    rows, columns = (top + trim_y, bottom - trim_y), (left + trim_x, right - trim_x)
    darker = tone is Tone.NEGATIVE
    turned = np.ascontiguousarray(light.T)

    def four(turn: float | None) -> Four:
        back = None if turn is None else -turn
        return (
            find_side(light, Line(left, rows, 1, darker, back), level, scale),
            find_side(turned, Line(top, columns, 1, darker, turn), level, scale),
            find_side(light, Line(right, rows, -1, darker, back), level, scale),
            find_side(turned, Line(bottom, columns, -1, darker, turn), level, scale),
        )

    return four(turn_of(four(None)))


def _edges(r: Rectangle) -> tuple[int, int, int, int]:
    return r.left, r.top, r.right, r.bottom


def _light(linear: NDArray[np.float32], rebate: Three, tone: Tone, lamp: Three | None) -> NDArray[np.float32]:
    """One brightness a block: on a negative the mean share of the base's light, so that each channel counts alike. On
    a positive bare lamp (perforations) is shown as dark as rebate: neither is picture."""
    if tone is Tone.POSITIVE:
        light = np.asarray(cv2.transform(linear, np.ones((1, 3), np.float32)), np.float32).reshape(linear.shape[:2])
        if lamp is not None:
            holes = cv2.dilate(bare(soft_levels(linear), lamp).astype(np.uint8), np.ones((5, 5), np.uint8))
            light[holes > 0] = sum(2.0**value for value in rebate)
        return light
    # Nothing on film is lighter than the base: lamp beside it counts as base.
    parts = [np.minimum(linear[:, :, c] * np.float32(2.0 ** -rebate[c] / 3), np.float32(1 / 3)) for c in range(3)]
    return np.asarray(parts[0] + parts[1] + parts[2], np.float32)
