"""How blurred a picture's grain is, by likelihood: in each tile white grain behind a Gaussian blur, and noise.

In each tile the power falls with frequency f as A exp(-4 pi^2 f^2 v), v the variance of all blur together (lens,
pixel, grain's own size, misfocus); a blur that leans has v + (l/2) cos 2(direction - leaning). What is measured
scatters by the sensor's noise, which is known, and by the chance of finite tiles (a share of the power itself)."""

from __future__ import annotations

from functools import cache

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.fine import RINGS, SECTORS, Fine

# Straight edges of buildings, horizons and frames fill the sectors along and across the picture; grain fills all.
KEPT = tuple(s for s in range(SECTORS) if s not in (0, SECTORS // 2))
# Scatter of a ring's mean in one tile of 128 px: one over the root of its independent frequencies (window included).
_CHANCE = np.array([0.14, 0.125, 0.11, 0.10, 0.09])
# Variances that are tried, px^2.
_TRIED = np.arange(0.0, 9.01, 0.1)
# A tile tells its blur where its own answer is this sure (px^2), and a few such make a picture's.
_SURE, _FEW = 0.8, 8
# One odd tile says no more than this (in chi squared); 9 are three standard errors.
_CAP, _ERRORS = 25.0, 9.0
# The film that shows least: a granularity of 4 (finer than any pictorial film's 5 or so) at density 0.3 over its base;
# 48 um aperture, clumps of 10 um, and what the lens leaves at the lowest ring.
_FINEST, _APERTURE_UM2, _CLUMP_UM2 = (2.3 * 0.004) ** 2 * 0.36 * 0.65, 1810.0, 314.0
# No sensor is freer of noise than this; a drawn picture may be.
_NO_NOISE = 1e-9
# Such grain must be seen where it is so many times the noise, in tiles a stop under the lightest.
_SEEN, _UNDER = 4.0, 1.0

Array = NDArray[np.float64]


class Grain(Struct, frozen=True):
    """`blur`: variance in px^2 in the quieter half of the tiles, `least`, `most` its bounds; None where no grain is
    seen. `top`: median power at the two highest rings there. `lean`: difference of variance between two directions and
    the blurrier one, as (cos, sin) of twice the angle, from the tiles that show grain; None where there are too few;
    `gain`: how much better it explains them than no lean (chi squared). `gone`: share of the tiles that must show grain
    of any film and show none, None where none must."""

    blur: float | None
    least: float
    most: float
    top: float
    lean: tuple[float, float] | None
    gain: float
    gone: float | None


def blur_limit(px_per_mm: float) -> float:
    """The variance (px^2) that pixel, lens and grain reach together at the most: a good lens at its copying aperture
    and a pixel 1.2, a slight misfocus 0.45; grain of sigma 4 um (coarse film) on top. 1.5 px of misfocus add 2.25."""
    return 1.65 + (0.004 * px_per_mm) ** 2


def grain(fine: Fine, px_per_mm: float) -> Grain:
    """Measure a picture's grain. Tiles that are blurrier than grain can be do not tell how it leans."""
    limit = blur_limit(px_per_mm) + 0.15
    power = fine.power.reshape(-1, len(RINGS), SECTORS)[:, :, KEPT]
    noise = fine.noise.reshape(-1, len(RINGS), SECTORS)[:, :, KEPT]
    rings, error = power.mean(axis=2), np.sqrt((noise**2).sum(axis=2)) / len(KEPT)
    chi = _chi(rings, error, _falls(), _CHANCE)
    above = chi - chi.min(axis=1, keepdims=True)
    told = (above < 1).sum(axis=1) * 0.05 < _SURE
    gone = _gone(fine, error[:, 0], told, px_per_mm)
    sure = np.flatnonzero(told)
    if sure.size < _FEW:
        return Grain(None, 0.0, 0.0, 0.0, None, 0.0, gone)
    quiet = sure[np.argsort(rings[sure, 0])][: max(_FEW, sure.size // 2)]
    blur, least, most = _pooled(above[quiet])
    top = float(np.median(rings[quiet][:, 3:].mean(axis=1)))
    own = _TRIED[chi.argmin(axis=1)]
    showing = sure[own[sure] < limit]
    showing = showing[np.argsort(rings[showing, 0])][:60]
    if showing.size < _FEW:
        return Grain(blur, least, most, top, None, 0.0, gone)
    lean, gain = _lean(power[showing], noise[showing], _pooled(above[showing])[0])
    return Grain(blur, least, most, top, lean, gain, gone)


def pooled_blur(fine: Fine, tiles: NDArray[np.intp]) -> tuple[float, float, float]:
    """Variance and its bounds from some tiles alone."""
    power = fine.power.reshape(-1, len(RINGS), SECTORS)[tiles][:, :, KEPT]
    noise = fine.noise.reshape(-1, len(RINGS), SECTORS)[tiles][:, :, KEPT]
    chi = _chi(power.mean(axis=2), np.sqrt((noise**2).sum(axis=2)) / len(KEPT), _falls(), _CHANCE)
    return _pooled(chi - chi.min(axis=1, keepdims=True))


@cache
def _frequencies() -> Array:
    return np.array([(low + high) / 2 for low, high in RINGS])


@cache
def _falls() -> Array:
    """(tried, rings): how power falls from the lowest ring on, for each variance."""
    squares = _frequencies() ** 2
    return np.asarray(np.exp(-4 * np.pi**2 * (squares - squares[0])[None, :] * _TRIED[:, None]), np.float64)


def _chi(power: Array, error: Array, shapes: Array, chance: Array) -> Array:
    """(tiles, shapes): twice the negative log likelihood of each shape, at the amplitude that suits it best."""
    error = np.maximum(error, _NO_NOISE)
    weight = 1 / (error**2 + (0.7 * chance * np.maximum(power, 0)) ** 2)
    most = np.maximum((weight * power) @ shapes.T / (weight @ (shapes**2).T), 0)
    for _ in range(2):
        model = most[:, :, None] * shapes[None]
        spread = error[:, None, :] ** 2 + (chance * model) ** 2
        most = np.maximum((power[:, None] * shapes / spread).sum(2) / (shapes**2 / spread).sum(2), 0)
    model = most[:, :, None] * shapes[None]
    spread = error[:, None, :] ** 2 + (chance * model) ** 2
    return np.asarray(((power[:, None] - model) ** 2 / spread + np.log(spread)).sum(2), np.float64)


def _pooled(above: Array) -> tuple[float, float, float]:
    total = np.minimum(above, _CAP).sum(axis=0)
    best = int(np.argmin(total))
    within = _TRIED[total < total[best] + _ERRORS]
    return float(_TRIED[best]), float(within[0]), float(within[-1])


def _lean(power: Array, noise: Array, blur: float) -> tuple[tuple[float, float], float]:
    """The lean that suits the tiles best: a coarse grid, then a finer one around its best."""
    tiles = len(power)
    flat, error = power.reshape(tiles, -1), noise.reshape(tiles, -1)
    chance = np.repeat(_CHANCE * np.sqrt(len(KEPT)), len(KEPT))
    sizes, turns = (0.1, 0.2, 0.3, 0.4, 0.55, 0.75, 1.0), np.arange(8) * np.pi / 4
    tried = [(0.0, 0.0)] + [(s * np.cos(t), s * np.sin(t)) for s in sizes for t in turns]
    total = _totals(flat, error, _leaning(blur, tried), chance)
    x, y = tried[int(np.argmin(total))]
    finer = [(x + i * 0.04, y + k * 0.04) for i in (-1, 0, 1) for k in (-1, 0, 1)]
    last = _totals(flat, error, _leaning(blur, [(0.0, 0.0), *finer]), chance)
    best = int(np.argmin(last[1:]))
    found = finer[best]
    return (float(found[0]), float(found[1])), float(last[0] - last[1 + best])


def _totals(power: Array, error: Array, shapes: Array, chance: Array) -> Array:
    chi = _chi(power, error, shapes, chance)
    return np.asarray(np.minimum(chi - chi.min(axis=1, keepdims=True), _CAP / 2).sum(axis=0), np.float64)


def _leaning(blur: float, tried: list[tuple[float, float]]) -> Array:
    """(tried, rings x sectors): power of blurs that lean, from the lowest ring on."""
    turn = 2 * np.pi * np.array(KEPT) / SECTORS
    squares = _frequencies()[:, None] ** 2
    leans = np.array([[x * np.cos(turn) + y * np.sin(turn)] for x, y in tried])
    shapes = np.exp(-4 * np.pi**2 * ((squares - squares[0]) * blur + squares * leans / 2))
    return np.asarray(shapes.reshape(len(tried), -1), np.float64)


def _gone(fine: Fine, error: Array, told: NDArray[np.bool_], px_per_mm: float) -> float | None:
    """Of the tiles where any film's grain must stand out of the noise, the share that shows none."""
    if not fine.level.size:
        return None
    finest = _FINEST * _APERTURE_UM2 / ((1000 / px_per_mm) ** 2 + _CLUMP_UM2)
    must = (fine.level < fine.level.max() - _UNDER) & (finest > _SEEN * error)
    return float(1 - told[must].mean()) if must.sum() >= 2 * _FEW else None
