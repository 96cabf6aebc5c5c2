"""The scales of shutter, aperture and sensitivity: the nominal values of the trade, in thirds of a stop.

Values from memory, common practice: the rounded numbers engraved on cameras and used in EXIF.
"""

from __future__ import annotations

from fractions import Fraction

_WHOLE = "30 25 20 15 13 10 8 6 5 4 3.2 2.5 2 1.6 1.3 1 0.8 0.6 0.5 0.4 0.3"
_PARTS = (4, 5, 6, 8, 10, 13, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800,
          1000, 1250, 1600, 2000, 2500, 3200, 5000, 8000)  # fmt: skip
# 1/4000 s and 1/6400 s are left out. The standard property counts whole units of 0.1 ms: 1/4000 s would be
# 2.5 units between 2 (1/5000 s) and 3 (1/3200 s), 1/6400 s 1.56 between 1 (1/8000 s) and 2. Under 1/2500 s the
# scale is therefore in two thirds of a stop.

UNITS_A_SECOND = 10_000
"""Property 0x500D counts in units of 0.1 ms."""


def _units(seconds: Fraction) -> int:
    return int(seconds * UNITS_A_SECOND + Fraction(1, 2))


SHUTTER: dict[int, Fraction] = {
    _units(seconds): seconds for seconds in [*map(Fraction, _WHOLE.split()), *(Fraction(1, part) for part in _PARTS)]
}
"""Value of property 0x500D -> the nominal time in seconds, exactly; longest first."""

_F_NUMBERS = (2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22)

APERTURE: tuple[int, ...] = tuple(round(number * 100) for number in _F_NUMBERS)
"""f-numbers times 100, as property 0x5007 wants them."""

UNKNOWN_APERTURE = 8.0
"""The aperture at which a lens without contacts stands; the body then reads 0."""


def working_aperture(f_number: float) -> float:
    """The f-number that the light passes, for what the body reads."""
    return f_number or UNKNOWN_APERTURE


ISO: tuple[int, ...] = (100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200)

EXPOSURE_BIAS: tuple[int, ...] = (-2000, -1700, -1300, -1000, -700, -300, 0, 300, 700, 1000, 1300, 1700, 2000)
"""Thousandths of a stop, as property 0x5010 wants them. It changes nothing in manual exposure."""
