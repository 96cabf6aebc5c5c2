"""What the aperture does to a copy: effective f-number, diffraction, depth of field. Formulas, no pictures.

m is the magnification (image over object), p the pixel pitch in um, N the f-number marked on the lens. Sources:
N (1 + m / P) from Conrad, "Depth of Field in Depth" (P: pupil magnification, 1 where nobody knows it); depth of field
2 N c (1 + m) / m^2 as quoted from the Ilford Manual of Photography; the diffraction-limited MTF of a round aperture is
textbook optics (Goodman, "Introduction to Fourier Optics"; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

GREEN_UM = 0.550
"""Wavelength for which apertures are compared: the eye's and the sensor's most sensitive."""
_ENOUGH = 0.1
"""Contrast that the lens alone must leave at the film's sampling limit. A tenth is what counts as resolved (SFR10, the
sampling efficiency of ISO 12233 and FADGI 2016): under it, finer sampling is empty."""


class Stop(Struct, frozen=True):
    """One aperture. `effective`: f-number at this magnification; `airy_um`: diameter of the Airy disc at the film;
    `cutoff_lpmm`: line pairs a mm at the film beyond which nothing passes; `contrast`: of the finest detail the sensor
    samples; `depth_um`: depth of field about the film, for a circle of one pixel."""

    f_number: float
    effective: float
    airy_um: float
    cutoff_lpmm: float
    contrast: float
    depth_um: float


class Advice(Struct, frozen=True):
    """Apertures compared. `ppi` and `nyquist_lpmm` at the film; `best`: the one with the most depth among those that
    leave enough contrast, or the sharpest where none does; `why` in one sentence."""

    ppi: float
    nyquist_lpmm: float
    stops: tuple[Stop, ...]
    best: float
    why: str


def ppi(m: float, pitch_um: float) -> float:
    """Samples an inch at the film."""
    return 25_400.0 * m / pitch_um


def nyquist_lpmm(m: float, pitch_um: float) -> float:
    """Line pairs a mm at the film that the sensor can just sample."""
    return 500.0 * m / pitch_um


def effective(f_number: float, m: float, pupil: float = 1.0) -> float:
    """The f-number that counts for light and diffraction this close."""
    return f_number * (1.0 + m / pupil)


def loss_stops(m: float, pupil: float = 1.0) -> float:
    """Light lost to the extension of the lens, in stops."""
    return 2.0 * math.log2(1.0 + m / pupil)


def airy_um(f_number: float, m: float) -> float:
    """Diameter of the Airy disc on the sensor."""
    return 2.44 * GREEN_UM * effective(f_number, m)


def cutoff_lpmm(f_number: float, m: float) -> float:
    """Line pairs a mm at the film beyond which a perfect lens passes nothing."""
    return 1000.0 * m / (GREEN_UM * effective(f_number, m))


def diffraction_mtf(lpmm: float, cutoff: float) -> float:
    """Contrast (0 to 1) that a perfect round aperture leaves at a frequency, both in line pairs a mm at one place."""
    x = lpmm / cutoff
    if x >= 1.0:
        return 0.0
    return 2.0 / math.pi * (math.acos(x) - x * math.sqrt(1.0 - x * x))


def depth_of_field_um(f_number: float, m: float, circle_um: float) -> float:
    """Depth about the film within which a point stays smaller than `circle_um` on the sensor."""
    return 2.0 * f_number * circle_um * (1.0 + m) / m**2


def greatest_tilt_deg(depth_um: float, field_mm: float) -> float:
    """How far the film plane may be tilted over a field before its ends leave the depth of field."""
    return math.degrees(math.atan(depth_um / (field_mm * 1000.0)))


def advise(m: float, pitch_um: float, f_numbers: Sequence[float]) -> Advice:
    """Compare the apertures that the lens offers.

    Args:
        m: magnification. pitch_um: pixel pitch. f_numbers: as marked, any order.

    Raises:
        ValueError: no aperture, or a number that is not positive.
    """
    if not f_numbers or min(*f_numbers, m, pitch_um) <= 0:
        raise ValueError("an aperture advice needs a magnification, a pixel pitch and f-numbers over 0")
    limit = nyquist_lpmm(m, pitch_um)
    stops = tuple(_stop(n, m, pitch_um, limit) for n in sorted(f_numbers))
    good = [stop for stop in stops if stop.contrast >= _ENOUGH]
    best = good[-1] if good else stops[0]
    why = (
        f"f/{best.f_number:g} leaves {100 * best.contrast:.0f} % contrast at the finest detail sampled "
        f"({limit:.0f} lp/mm at the film), and {best.depth_um:.0f} um of depth."
    )
    if not good:
        none = f"No aperture leaves {100 * _ENOUGH:.0f} % at {limit:.0f} lp/mm: the sampling is finer than the lens."
        why = f"{none} {why}"
    return Advice(ppi(m, pitch_um), limit, stops, best.f_number, why)


def _stop(f_number: float, m: float, pitch_um: float, limit: float) -> Stop:
    cut = cutoff_lpmm(f_number, m)
    return Stop(f_number, effective(f_number, m), airy_um(f_number, m) / m, cut, diffraction_mtf(limit, cut),
                depth_of_field_um(f_number, m, pitch_um))  # fmt: skip
