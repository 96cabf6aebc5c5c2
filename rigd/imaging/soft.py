"""Whether a take is soft, and how: moved, out of focus, film not flat. Grain tells; the picture itself may be soft."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, degrees, hypot, radians, sin, sqrt

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.fine import Fine
from rigd.imaging.grain import Grain, blur_limit
from rigd.imaging.texture import Texture

# An even movement over b px blurs like a Gaussian of variance b^2 / 12, so 2 px lean by 0.33. Grain that lies still
# leans by up to 0.22 as it is measured; a picture's own detail, where it drowns the grain, by up to 0.45.
_LEAN, _GAIN, _LEAN_DETAIL = 0.235, 12.0, 0.46
# Where the grain is blurred beyond `blur_limit`, it is misfocus if it is faint as well: 1.5 px leave a thirtieth at the
# top, under this for the coarsest film, while sharp detail that is as steep is far stronger.
_FAINT = 2.8e-5
# A picture's own detail is never steeper than this over the limit (px^2), however soft its lens was.
_STEEP = 1.3
# So many of the tiles that must show grain show none: it is gone.
_LOST = 0.65
# With other frames known: grain this much weaker than theirs is gone (a thirtieth is left at 1.5 px); grain that is
# there acquits. The weaker fifth of their tiles shows grain alone, where the others hold detail.
_GONE, _THERE, _ACQUITS, _USUAL = 0.12, 0.4, 0.6, 20
# Of one picture's middle against its corners: grain at like density, weaker by this, is blurred away.
_WEAKER = 0.2
# Under this scale (px a mm) a pixel of 22 um and more averages so many clumps that grain is not told from the picture.
SCALE = 45.0
# Other frames that make a rule.
HISTORY = 3
# Tiles of the other frames near enough in density, in stops, and how many of them.
_NEAR, _FEW = 0.7, 20
_SOME = 10
# The middle of the picture and its corners, as distances from the middle in pictures.
_MIDDLE, _CORNERS = 0.22, 0.42

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

    Movement and misfocus are told from the take alone; at least three others make it surer. Where no grain can be seen
    nothing is said to be soft but what has lost it, and nothing at all under `SCALE` px a mm."""
    if px_per_mm < SCALE or own.grain is None:
        return Softness(False)
    rule = others if len(others) >= HISTORY else ()
    sharp = _against(own, rule)
    number = float(np.median(sharp[np.isfinite(sharp)])) if np.isfinite(sharp).sum() >= _SOME else None
    limit = blur_limit(px_per_mm)
    return (
        _not_flat(fine, own, sharp, number)
        or _focus(own, own.grain, rule, number, limit)
        or _moved(own, own.grain, film_deg, number, limit)
        or Softness(False, sharpness=number)
    )


def _moved(own: Texture, grain: Grain, film_deg: float, number: float | None, limit: float) -> Softness | None:
    """By the grain where it shows in the quieter half of the picture; else by all detail, which must lean more."""
    found, least = grain.lean, _LEAN
    if grain.blur is None or grain.least > limit or found is None or grain.gain < _GAIN:
        found, least = (None if own.wide else own.lean), _LEAN_DETAIL
    if found is None or hypot(*found) < least:
        return None
    x, y = own.lean if own.lean is not None and not own.wide and hypot(*own.lean) > 0.6 else found
    turn, pixels = degrees(atan2(y, x)) / 2 % 180, sqrt(12 * hypot(x, y))
    why = f"Moved, {_direction(turn - film_deg)}, about {pixels:.0f} px."
    return Softness(True, why, moved_px=pixels, moved_deg=turn, sharpness=number)


def _direction(turn: float) -> str:
    """In words, of an angle against the film."""
    along = abs(cos(radians(turn)))
    if along > cos(radians(25)):
        return "along the film"
    return "across the film" if abs(sin(radians(turn))) > cos(radians(25)) else "aslant"


def _focus(
    own: Texture, grain: Grain, rule: Sequence[Texture], number: float | None, limit: float
) -> Softness | None:
    there = number is not None and number > _ACQUITS
    usual = [t.grain.blur for t in rule if t.grain is not None and t.grain.blur is not None]
    sigma = sqrt(max(0.1, (grain.blur or 0.0) - (float(np.median(usual)) if usual else limit / 2)))
    moved = own.lean is not None and not own.wide and hypot(*own.lean) > 4 * _LEAN_DETAIL
    if grain.blur is not None and not there and not moved:
        faint = grain.least > limit and grain.top < _FAINT
        if faint or grain.least > limit + _STEEP:
            return Softness(True, f"Out of focus, about {sigma:.1f} px.", sigma_px=sigma, sharpness=number)
    lost = grain.gone is not None and grain.gone > _LOST
    if (lost and not there) or (number is not None and number < _GONE and grain.top < _FAINT):
        return Softness(True, "Out of focus: the grain is gone.", sigma_px=2.0, sharpness=number)
    return None


def _not_flat(fine: Fine, own: Texture, sharp: Array, number: float | None) -> Softness | None:
    """The middle against the corners, both by the grain at like density: of other frames, else of the other part. What
    still has the grain of a sharp film is not accused, however much more detail the other part holds."""
    away = np.hypot(fine.x - 0.5, fine.y - 0.5)
    inner, outer, table = away < _MIDDLE, away > _CORNERS, own.table()
    ways = ((inner, outer, "Corners sharp, middle not"), (outer, inner, "Middle sharp, corners not"))
    for weak, strong, words in ways:
        if not weak.any() or float(np.median(table[weak, 1])) > 1.5 * _FAINT:
            continue
        known = [sharp[part & np.isfinite(sharp)] for part in (weak, strong)]
        if min(k.size for k in known) >= _SOME:
            gone = float(np.median(known[0])) < _GONE and float(np.median(known[1])) > _THERE
        else:
            gone = _weaker(table, weak, strong)
        if gone:
            return Softness(True, f"{words}: the film is not flat.", sharpness=number)
    return None


def _weaker(table: NDArray[np.float32], weak: NDArray[np.bool_], strong: NDArray[np.bool_]) -> bool:
    """True if one part of the picture has lost the grain that the other has at the same density."""
    ratios = []
    for level, power, error in table[weak]:
        near = table[strong & (np.abs(table[:, 0] - level) < _NEAR)]
        if len(near) >= 3 and (usual := float(np.percentile(near[:, 1], 25))) > 4 * max(error, _FAINT / 4):
            ratios.append(power / usual)
    return len(ratios) >= _SOME and float(np.median(ratios)) < _WEAKER


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
            usual = float(np.percentile(known[near, 1], _USUAL))
            if usual > 3 * error:
                ratio[i] = power / usual
    return ratio
