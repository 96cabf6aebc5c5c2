"""Whether a take is soft, and how: moved, out of focus, film not flat. Grain tells; the picture itself may be soft."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, degrees, hypot, radians, sin, sqrt

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.fine import Fine
from rigd.imaging.texture import Texture

# An even movement over b px blurs like a Gaussian of variance b^2 / 12. 2 px make 0.33; sharp frames stay under 0.2,
# most under 0.1, so the limit lies between; where grain is weak, it lies higher.
_LEAN, _LEAN_WIDE = 0.235, 0.32
# Grain must stand out of the noise by so many errors in most of the picture to be judged by.
_SEEN = 0.5
# Power at the top that no grain has: relative variance of a pixel at density 1.0 of a film with a granularity of 30
# (rms x 1000 through 48 um, far coarser than common film), of which optics leave a third; clumps of 10 um.
_GRAIN = (2.3 * 0.030) ** 2 / 3
_APERTURE_UM2, _CLUMP_UM2 = 1810.0, 314.0
# Without other frames: a fall that lens, pixel, grain and picture together do not reach at ordinary scales (px^2),
# and what grain of 5 um adds at larger ones.
_FALL_ALONE, _GRAIN_MM = 3.0, 0.005
# A misfocus of 1.5 px adds 2.25 less what the lens has anyway; frames of one roll differ by up to 1.2.
_FALL = 1.4
# Grain this much weaker than on the other frames is gone: at 1.5 px of misfocus a thirtieth is left. Grain that is
# there acquits.
_GONE, _THERE, _ACQUITS = 0.12, 0.4, 0.6
# Under this scale (px a mm) a pixel of 22 um and more averages so many clumps that grain is not told from the picture.
_SCALE = 45.0
# Other frames that make a rule.
HISTORY = 3
# Tiles of the other frames near enough in density, in stops, and how many of them.
_NEAR, _FEW = 0.7, 20
_SOME = 10
# The middle of the picture and its corners, as distances from the middle in pictures.
_MIDDLE, _CORNERS = 0.25, 0.42

Array = NDArray[np.float64]


class Softness(Struct, frozen=True):
    """`moved_px` and `moved_deg` (0: along x, clockwise) of a movement, `sigma_px` of a misfocus, 0.0 where there is
    none. `sharpness`: the grain's power against the other frames' (1: alike), None without them."""

    soft: bool
    why: str = ""
    moved_px: float = 0.0
    moved_deg: float = 0.0
    sigma_px: float = 0.0
    sharpness: float | None = None


def softness(
    fine: Fine, own: Texture, others: Sequence[Texture], px_per_mm: float, film_deg: float = 0.0
) -> Softness:
    """Judge a take's texture against those of the job's good takes. `film_deg`: direction of the film in the sight.

    Movement is told from the take alone, a misfocus by comparison with at least three others (alone, only a large
    one). Where no grain can be seen, nothing is said to be soft but what has lost it."""
    if px_per_mm < _SCALE:
        return Softness(False)
    rule = others if len(others) >= HISTORY else ()
    sharp = _against(own, rule)
    number = float(np.median(sharp[np.isfinite(sharp)])) if np.isfinite(sharp).sum() >= _SOME else None
    limit = _FALL_ALONE + (_GRAIN_MM * px_per_mm) ** 2
    crisp = own.least_fall is not None and own.least_fall < limit
    moved = _moved(own, film_deg, number) if crisp and _by_grain(own, px_per_mm) else None
    if moved is not None:
        return moved
    flat = _not_flat(fine, sharp, number)
    if flat is not None:
        return flat
    return _focus(own, rule, number, limit) or Softness(False, sharpness=number)


def _by_grain(own: Texture, px_per_mm: float) -> bool:
    """True if what is seen at the top is grain: out of the noise, and not stronger than grain can be."""
    pixel = (1000 / px_per_mm) ** 2
    return own.seen > _SEEN and own.power < _GRAIN * _APERTURE_UM2 / (pixel + _CLUMP_UM2)


def _moved(own: Texture, film_deg: float, number: float | None) -> Softness | None:
    if own.lean is None:
        return None
    x, y = own.lean
    lean, turn = hypot(x, y), degrees(atan2(y, x)) / 2 % 180
    if lean < (_LEAN_WIDE if own.wide else _LEAN):
        return None
    pixels = sqrt(12 * lean)
    why = f"Moved, {_direction(turn - film_deg)}, about {pixels:.0f} px."
    return Softness(True, why, moved_px=pixels, moved_deg=turn, sharpness=number)


def _direction(turn: float) -> str:
    """In words, of an angle against the film."""
    along = abs(cos(radians(turn)))
    if along > cos(radians(25)):
        return "along the film"
    return "across the film" if abs(sin(radians(turn))) > cos(radians(25)) else "aslant"


def _focus(own: Texture, rule: Sequence[Texture], number: float | None, limit: float) -> Softness | None:
    if own.least_fall is not None and own.least_fall > limit and (number is None or number < _ACQUITS):
        sigma = sqrt(own.least_fall - _FALL_ALONE / 2)
        return Softness(True, f"Out of focus, about {sigma:.1f} px.", sigma_px=sigma, sharpness=number)
    falls = [t.fall for t in rule if t.fall is not None]
    if own.fall is not None and len(falls) >= HISTORY:
        more = own.fall - float(np.median(falls))
        if more > _FALL and (number is None or number < _ACQUITS):
            sigma = sqrt(more)
            return Softness(True, f"Out of focus, about {sigma:.1f} px.", sigma_px=sigma, sharpness=number)
    if number is not None and number < _GONE and own.fall is None:
        return Softness(True, "Out of focus: the grain is gone.", sigma_px=2.0, sharpness=number)
    return None


def _not_flat(fine: Fine, sharp: Array, number: float | None) -> Softness | None:
    away = np.hypot(fine.x - 0.5, fine.y - 0.5)
    parts = [sharp[(away < _MIDDLE) & np.isfinite(sharp)], sharp[(away > _CORNERS) & np.isfinite(sharp)]]
    if min(p.size for p in parts) < _SOME:
        return None
    middle, corners = (float(np.median(p)) for p in parts)
    if middle < _GONE and corners > _THERE:
        return Softness(True, "Corners sharp, middle not: the film is not flat.", sharpness=number)
    if corners < _GONE and middle > _THERE:
        return Softness(True, "Middle sharp, corners not: the film is not flat.", sharpness=number)
    return None


def _against(own: Texture, rule: Sequence[Texture]) -> Array:
    """The power of each tile's grain against that of other frames' tiles of like density; NaN where there are too few,
    or where their grain would not stand out of this take's noise."""
    table = own.table()
    ratio = np.full(len(table), np.nan)
    if not rule:
        return ratio
    known = np.concatenate([t.table() for t in rule])
    for i, (level, power, error) in enumerate(table):
        off = np.abs(known[:, 0] - level)
        near = np.argpartition(off, _FEW)[:_FEW] if len(known) > _FEW else np.arange(0)
        if near.size and off[near].max() < _NEAR:
            usual = float(np.percentile(known[near, 1], 40))
            if usual > 3 * error:
                ratio[i] = power / usual
    return ratio
