"""From the reduced copy to the picture's corners, in two steps: a coarse rectangle, then its four sides."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.framing.coarse import BLOCK_MM, Rectangle, best_rectangle, shrink, split_by_gap
from rigd.imaging.framing.corners import Corners, Four, corners_of, turn_of
from rigd.imaging.framing.kinds import LIKE, SOFT, Kinds, bare, kinds, rebate_levels, soft, soft_levels
from rigd.imaging.framing.ruler import perforation_scale
from rigd.imaging.framing.sides import SUPPORT, Line, find_side
from rigd.imaging.levels import Three
from rigd.imaging.planes import Box, Reduced
from rigd.model.formats import FilmFormat
from rigd.model.words import Tone

# A sheet's holder covers its rim: the picture is smaller than the nominal sheet (value from memory).
_PICTURE_MM = {"sheet-4x5": (120.0, 95.0)}
# A picture on a positive is somewhere lighter than the rebate by this, in stops.
_LIGHTER = 2.0
# Black film lies so far under the lightest blocks (D 1.8 with the lamp in sight).
_BLACK = 6.0
# Support that each side needs where the scale is not known.
_ALONE = 0.3
# So many of the best rectangles are looked at closely.
_TRIES = 4
# Sizes tried where the scale is not known: 6 % apart, so that one is within 3 %, down to a picture of half the sight.
_SCALE_STEP, _SCALES = 0.94, 12


class Framed(Struct, frozen=True):
    """`found` False: too few sides can be seen; `corners` is then None and `box` the nominal picture in the middle of
    the sight. `sides`: how much of the left, top, right, bottom side was seen (0 to 1); a side under 0.15 was put
    where the format says. `base`: L of the rebate by channel in this take, where it was seen. `px_per_mm`: as given,
    else by the perforations, else by the format's size (within 2 %). `by_perforations`: where they could be seen.
    `split`: no picture was found, but a gap between two runs through the middle of the sight. `along_x`: the film
    runs along x."""

    found: bool
    box: Box
    corners: Corners | None
    sides: tuple[float, float, float, float]
    base: Three | None
    px_per_mm: float
    by_perforations: float | None = None
    split: bool = False
    along_x: bool = True

    @property
    def sides_seen(self) -> int:
        """How many sides were seen and not only guessed from the format."""
        return sum(s >= SUPPORT for s in self.sides) if self.found else 0


class _Try(Struct, frozen=True):
    """One coarse rectangle: the maps it was found in, the nominal size in blocks, blocks a millimetre, and whether
    the film runs along x."""

    rectangle: Rectangle
    found: Kinds
    size: tuple[float, float]
    scale: float
    along_x: bool


def find_frame(
    small: Reduced,
    film: FilmFormat,
    tone: Tone,
    px_per_mm: float | None = None,
    base: Three | None = None,
    lamp: Three | None = None,
    along_x: bool | None = None,
) -> Framed:
    """Find the picture in a reduced copy; `base` and `lamp` as L in this take, where they are known. `px_per_mm` of
    the sensor within 3 %, `along_x` whether the film runs along x; None: it is looked for as well."""
    scales = [px_per_mm / small.step] if px_per_mm else _scales(small, film)
    factor = max(1, round(BLOCK_MM * scales[len(scales) // 2]))
    levels = soft_levels(shrink(small.linear, factor))
    known = [soft(base)] if base is not None and tone is Tone.NEGATIVE else rebate_levels(levels, tone, lamp)
    maps = [kinds(levels, tone, rebate, lamp) for rebate in known]
    ways = [(scale, size, x) for scale in scales for size, x in _both_ways(film, scale)]
    tries = [
        _Try(best_rectangle(m, (size[0] / factor, size[1] / factor), x), m, size, scale, x)
        for m in maps
        for scale, size, x in ways
        if along_x is None or x == along_x
    ]
    tries.sort(key=lambda t: -t.rectangle.score)
    for one in tries[:_TRIES]:
        if tone is Tone.POSITIVE and _black(levels, one.rectangle, one.found.rebate, known):
            continue
        sides = _sides(small, one, factor, tone, lamp)
        corners = corners_of(sides, one.size)
        # With nothing to say how large it is, every side must be there to see.
        if corners is not None and (px_per_mm is not None or min(s.support for s in sides) >= _ALONE):
            return _framed(small, film, one, sides, corners, px_per_mm)
    scale = scales[len(scales) // 2]
    split = px_per_mm is not None and any(split_by_gap(m, film, scale / factor) for m in maps)
    return _not_found(small, film, scale * small.step, split)


def _framed(
    small: Reduced, film: FilmFormat, one: _Try, sides: Four, corners: Corners, px_per_mm: float | None
) -> Framed:
    rebate = _hard(one.found.rebate)
    ruler = perforation_scale(small.linear, corners, one.along_x, rebate, one.scale) if film.perforated else None
    scale = (ruler or _by_size(corners, one)) * small.step if px_per_mm is None else px_per_mm
    box, points = _in_pixels(corners, small.step)
    left, top, right, bottom = (s.support for s in sides)
    by_perforations = ruler and ruler * small.step
    supports = (left, top, right, bottom)
    return Framed(True, box, points, supports, rebate, scale, by_perforations, along_x=one.along_x)


def _by_size(corners: Corners, one: _Try) -> float:
    """Blocks a millimetre, if the picture is as large as the format says: within 2 %."""
    area = cv2.contourArea(np.array(corners, np.float32))
    return one.scale * float(np.sqrt(area / (one.size[0] * one.size[1])))


def _scales(small: Reduced, film: FilmFormat) -> list[float]:
    """Blocks a millimetre that a picture could have which fills half to all of the sight."""
    height, width = small.linear.shape[:2]
    ways = ((film.along_mm, film.across_mm), (film.across_mm, film.along_mm))
    most = max(min(width / x, height / y) for x, y in ways)
    return [most * _SCALE_STEP**n for n in range(_SCALES)]


def _black(levels: NDArray[np.float32], r: Rectangle, rebate: Three, known: list[Three]) -> bool:
    """True if a rectangle on a positive holds nothing but black film: its edges are then the gate's."""
    heart = levels[max(0, r.top) : max(0, r.bottom), max(0, r.left) : max(0, r.right), 1]
    if heart.size == 0:
        return True
    middle, light = np.percentile(heart[::2, ::2], [50, 95])
    darkness = float(np.percentile(levels[::4, ::4, 1], 99)) - _BLACK
    blacks = [level[1] for level in known if level[1] < darkness]
    return light < rebate[1] + _LIGHTER or any(abs(middle - black) < LIKE for black in blacks if black > rebate[1])


def _both_ways(film: FilmFormat, scale: float) -> list[tuple[tuple[float, float], bool]]:
    """The picture's size (x, y) in blocks with the film running along x (True), and along y."""
    along, across = (mm * scale for mm in _PICTURE_MM.get(film.name, (film.along_mm, film.across_mm)))
    return [((along, across), True), ((across, along), False)]


def _sides(small: Reduced, one: _Try, factor: int, tone: Tone, lamp: Three | None) -> Four:
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


def _in_pixels(corners: Corners, step: int) -> tuple[Box, Corners]:
    points = [(x * step, y * step) for x, y in corners]
    xs, ys = sorted(x for x, _ in points), sorted(y for _, y in points)
    # The upright box inside the four corners.
    box = (round(xs[1]), round(ys[1]), round(xs[2]), round(ys[2]))
    return box, (points[0], points[1], points[2], points[3])


def _hard(rebate: Three) -> Three:
    red, green, blue = (float(np.log2(max(2.0**value - SOFT, SOFT / 16))) for value in rebate)
    return red, green, blue


def _not_found(small: Reduced, film: FilmFormat, px_per_mm: float, split: bool) -> Framed:
    height, width = (n * small.step for n in small.linear.shape[:2])
    wide, high = film.along_mm * px_per_mm, film.across_mm * px_per_mm
    if (wide > width or high > height) and high <= width and wide <= height:
        wide, high = high, wide
    wide, high = min(wide, width), min(high, height)
    left, top = round((width - wide) / 2), round((height - high) / 2)
    box = (left, top, left + round(wide), top + round(high))
    return Framed(False, box, None, (0.0, 0.0, 0.0, 0.0), None, px_per_mm, split=split)
