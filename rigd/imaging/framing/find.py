"""From the reduced copy to the picture's corners, in two steps: a coarse rectangle, then its four sides."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.framing.coarse import BLOCK_MM, best_rectangle, shrink, split_by_gap
from rigd.imaging.framing.corners import Corners
from rigd.imaging.framing.kinds import LIKE, SOFT, kinds, rebate_levels, soft, soft_levels
from rigd.imaging.framing.ruler import perforation_scale
from rigd.imaging.framing.sides import SUPPORT
from rigd.imaging.framing.tries import Found, How, Try, by_rebate, by_seams
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
# So many of the best rectangles are looked at closely.
_TRIES = 4
# Where the scale is not known, so many scales are looked at closely, those whose best rectangle is best.
_LIKELY_SCALES = 6
# Sides that were all seen on a small part of their lengths are no picture's: together this much must be seen.
_ENOUGH = 1.2
# Formats nearer to a square than this do not tell by themselves which way the film runs.
_SQUARE = 0.2
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
        Try(best_rectangle(m, (size[0] / factor, size[1] / factor), x), m, size, scale, x)
        for m in maps
        for scale, size, x in ways
        if along_x is None or x == along_x
    ]
    tries.sort(key=lambda t: -t.rectangle.score)
    likely = _likely(tries, levels, known if tone is Tone.POSITIVE else [])
    found = by_rebate(small, likely, factor, (tone, lamp), px_per_mm is not None)
    if found is None or not found.sure:
        square = abs(film.along_mm / film.across_mm - 1) < _SQUARE
        told = found.corners if found is not None else None
        how = How(tone, lamp, px_per_mm is not None, film.loose, along_x is not None or not square, told)
        likely.sort(key=lambda one: found is None or one is not found.one)
        seamed = by_seams(small, likely, factor, how)
        found = _surer(found, seamed, px_per_mm is not None or film.perforated)
    if found is not None:
        return _framed(small, film, found, px_per_mm)
    scale = scales[len(scales) // 2]
    split = px_per_mm is not None and any(split_by_gap(m, film, scale / factor) for m in maps)
    return _not_found(small, film, scale * small.step, split)


def _surer(rebate: Found | None, seamed: Found | None, measured: bool) -> Found | None:
    """Which of two findings counts, if any. Where the scale is not known, nor `measured` by perforations, rebate alone
    misleads."""
    if rebate is not None and not (rebate.clear and measured and sum(rebate.support) > _ENOUGH):
        rebate = None
    if seamed is not None and (rebate is None or seamed.sure or min(rebate.support) < SUPPORT):
        return seamed
    return rebate


def _likely(tries: list[Try], levels: NDArray[np.float32], blacks: list[Three]) -> list[Try]:
    """The tries to look at closely, best first: few of each scale. `blacks`: rebate levels of a positive, on which a
    rectangle may hold nothing but black film."""
    scales = list(dict.fromkeys(one.scale for one in tries))[:_LIKELY_SCALES]
    each = _TRIES if len(scales) == 1 else 2
    kept = [one for scale in scales for one in [t for t in tries if t.scale == scale][:each]]
    return [one for one in kept if not (blacks and _black(levels, one, blacks))]


def _framed(small: Reduced, film: FilmFormat, found: Found, px_per_mm: float | None) -> Framed:
    one, corners = found.one, found.corners
    rebate = _hard(one.found.rebate)
    ruler = perforation_scale(small.linear, corners, one.along_x, rebate, one.scale) if film.perforated else None
    scale = (ruler or _by_size(corners, one)) * small.step if px_per_mm is None else px_per_mm
    box, points = _in_pixels(corners, small.step)
    by_perforations = ruler and ruler * small.step
    return Framed(True, box, points, found.support, rebate, scale, by_perforations, along_x=one.along_x)


def _by_size(corners: Corners, one: Try) -> float:
    """Blocks a millimetre, if the picture is as large as the format says: within 2 %."""
    area = cv2.contourArea(np.array(corners, np.float32))
    return one.scale * float(np.sqrt(area / (one.size[0] * one.size[1])))


def _scales(small: Reduced, film: FilmFormat) -> list[float]:
    """Blocks a millimetre that a picture could have which fills half to all of the sight."""
    height, width = small.linear.shape[:2]
    ways = ((film.along_mm, film.across_mm), (film.across_mm, film.along_mm))
    most = max(min(width / x, height / y) for x, y in ways)
    return [most * _SCALE_STEP**n for n in range(_SCALES)]


def _black(levels: NDArray[np.float32], one: Try, known: list[Three]) -> bool:
    """True if a rectangle on a positive holds nothing but black film: its edges are then the gate's."""
    r, rebate = one.rectangle, one.found.rebate
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
