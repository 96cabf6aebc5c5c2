"""How the film lies before the camera: the gate's opening in the live picture, the scale, and what is empty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.live.look import Look, band_range
from rigd.imaging.live.shift import Area, filtered
from rigd.model.formats import FilmFormat

# A set-up shows the frame and some room around it: 5 to 25 % is common practice, no source.
_ROOM = 1.15
# The opening is lighter than the holder; the holder's stray light stays under this share of the lightest (of the
# display's scale: 6 % of the light).
_OPEN = 0.25
# The opening's own edge is blurred: so much of it, in mm, is left out.
_EDGE_MM = 0.5
# Between the picture and its nominal edge across the film: holders let film lie half a millimetre off.
_ACROSS = 0.94
# Nothing lies in a gate whose bands are smoother than this (display levels, the roughest hundredth): an open gate
# shows under 1, any film 20 and more where frame lines, print or dust are in sight.
_SMOOTH = 3.0


# A fifth longer one way than the other: no gate is that far from its usual shape.
_PLAINLY = 0.2


class Bed(Struct, frozen=True):
    """`gate`: the opening in live px (left, top, right, bottom). `px_per_mm` of the live picture. `sure`: the scale
    was measured; else it is nominal, good to some 14 %."""

    gate: Area
    px_per_mm: float
    sure: bool

    @property
    def middle(self) -> float:
        """The gate's middle along the film, px."""
        return (self.gate[0] + self.gate[2]) / 2

    def mm(self, px: float) -> float:
        """Place along the film, in mm right of the gate's middle."""
        return (px - self.middle) / self.px_per_mm

    @property
    def half_mm(self) -> float:
        """Half the opening along the film."""
        return (self.gate[2] - self.gate[0]) / 2 / self.px_per_mm

    @property
    def inner(self) -> Area:
        """The opening without its blurred edges, px."""
        cut = max(4.0, _EDGE_MM * self.px_per_mm)
        left, top, right, bottom = self.gate
        return left + cut, top + cut, right - cut, bottom - cut

    def picture(self, film: FilmFormat) -> Area:
        """The part of `inner` that is picture across the film: no rebate, no perforations."""
        left, top, right, bottom = self.inner
        half, middle = film.across_mm * self.px_per_mm * _ACROSS / 2, (top + bottom) / 2
        return left, max(top, middle - half), right, min(bottom, middle + half)


@dataclass(slots=True)
class Lightest:
    """The lightest that each column and row has been, over many looks: the gate shows through sooner or later."""

    along: NDArray[np.float32] | None = None
    across: NDArray[np.float32] | None = None

    def add(self, one: Look) -> None:
        """Take in one more look."""
        along, across = one.along.max(axis=0), one.across.max(axis=0)
        if self.along is None or self.across is None or self.along.shape != along.shape:
            self.along, self.across = along, across
            return
        np.maximum(self.along, along, out=self.along)
        np.maximum(self.across, across, out=self.across)


def nominal_scale(size: tuple[int, int], film: FilmFormat) -> float:
    """px per mm of a live picture of that size, if the frame fills it but for the usual room."""
    width, height = size
    return min(width / film.along_mm, height / film.across_mm) / _ROOM


def bed_of(lightest: Lightest, film: FilmFormat, px_per_mm: float | None) -> Bed | None:
    """The bed as far as it has been seen; None while nothing light has been seen at all."""
    if lightest.along is None or lightest.across is None:
        return None
    columns, rows = _span(lightest.along), _span(lightest.across)
    if columns is None or rows is None:
        return None
    size = lightest.along.size, lightest.across.size
    scale = px_per_mm or nominal_scale(size, film)
    return Bed((columns[0], rows[0], columns[1], rows[1]), scale, px_per_mm is not None)


def lies_turned(lightest: Lightest, film: FilmFormat) -> bool:
    """True if the gate that has been seen so far fits film that runs from top to bottom of the picture plainly better
    than film that runs along it."""
    if lightest.along is None or lightest.across is None:
        return False
    columns, rows = _span(lightest.along), _span(lightest.across)
    if columns is None or rows is None:
        return False
    seen = np.log((columns[1] - columns[0]) / (rows[1] - rows[0]))
    # A gate shows the gaps along the film and less across it: a tenth longer than the picture's own shape.
    usual = np.log(1.1 * film.along_mm / film.across_mm)
    return bool(abs(seen + usual) + _PLAINLY < abs(seen - usual))


def _span(lightest: NDArray[np.float32]) -> tuple[float, float] | None:
    """From the first to behind the last that is light."""
    top = float(lightest.max())
    light = np.flatnonzero(lightest > _OPEN * top)
    # Under 40 display levels there is no lamp.
    return None if top < 40 or not light.size else (float(light[0]), float(light[-1] + 1))


def is_open(one: Look, bed: Bed) -> bool:
    """True if nothing lies in the gate: it is light and smooth all over."""
    left, top, right, bottom = bed.inner
    rows = band_range(top, bottom, one.size[1])
    bands = one.along[rows, int(left) : int(right)]
    if bands.size == 0 or float(bands.min()) < 40:
        return False
    return float(np.percentile(np.abs(filtered(bands)), 99)) < _SMOOTH
