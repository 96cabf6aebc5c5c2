"""One roll is balanced as one roll: what counts as neutral, and as middle grey, on all of its frames."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rigd.imaging.framing import Corners
from rigd.imaging.levels import Three
from rigd.imaging.planes import reduce
from rigd.imaging.raw import Raw
from rigd.model.words import Colour

GAMMA_COLOUR, GAMMA_MONO = 0.60, 0.62
"""Density for each tenfold exposure of ordinary negatives: encodings of printing density take 0.6; ISO 6's geometry
gives an average gradient of 0.615 for black and white."""
MIDDLES: Three = (0.653, 0.687, 0.725)
"""Densities over the base of a mid-grey patch in R, G, B (KODAK publication H-387, film 5203, status M): used until a
roll says better."""
_STRETCH = 0.15
"""The layers' contrasts may differ by so much (ISO 18909 calls 0.10 to 0.15 acceptable); what lies beyond is the
subjects' own colour."""
_SHIFT = 0.35
"""A roll's middle may lie so far from the usual one, in density: about two stops."""
_POINTS = np.linspace(0.05, 0.95, 19)
Tones = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Balance:
    """`gamma`: density for each tenfold exposure in R, G, B; `middle`: density over the base of middle grey there."""

    gamma: Three
    middle: Three


def usual(colour: Colour) -> Balance:
    """The balance of a roll that nothing is known of."""
    if colour is Colour.MONO:
        return Balance((GAMMA_MONO,) * 3, (MIDDLES[1],) * 3)
    return Balance((GAMMA_COLOUR,) * 3, MIDDLES)


def tones(raw: Raw, clear: Three, corners: Corners | None) -> Tones:
    """The picture's densities over the base at 19 equal steps of its area, thin to dense, (19, 3) in R, G, B; from a
    reduced copy, which is enough. `clear`: the base's light in this take, as shares of saturation."""
    small = reduce(raw, 160)
    linear = small.linear
    height, width = linear.shape[:2]
    left, top, right, bottom = width // 6, height // 6, width - width // 6, height - height // 6
    if corners is not None:
        xs, ys = sorted(x / small.step for x, _ in corners), sorted(y / small.step for _, y in corners)
        left, right = max(0, int(xs[1]) + 2), min(width, int(xs[2]) - 1)
        top, bottom = max(0, int(ys[1]) + 2), min(height, int(ys[2]) - 1)
    inside = linear[top:bottom, left:right].reshape(-1, 3).astype(np.float64)
    if not inside.size:
        raise ValueError("no part of the picture lies inside the sensor's sight")
    found: Tones = np.quantile(-np.log10(np.maximum(inside, 1e-6) / np.asarray(clear)), _POINTS, axis=0)
    return found


def balance_roll(frames: Sequence[Tones], colour: Colour) -> Balance:
    """The balance of a roll from the tones of its pictures, taken together.

    Over a whole roll the subjects are taken as neutral on the average (common practice): the layers' densities at
    equal shares of the roll belong to equal light. Their slope against green gives the layers' contrast, their height
    what prints neutral. Green alone gives the middle: half-way between the roll's dark and light ends."""
    base = usual(colour)
    if not frames:
        return base
    points = np.mean(np.asarray(frames), axis=0)
    green = points[:, 1]
    middle = float(np.clip((green[0] + green[-1]) / 2, base.middle[1] - _SHIFT, base.middle[1] + _SHIFT))
    if colour is Colour.MONO:
        return Balance(base.gamma, (middle,) * 3)
    lines = [_line(green, points[:, channel], middle) for channel in range(3)]
    gammas = [base.gamma[1] * slope for slope, _ in lines]
    middles = [height for _, height in lines]
    return Balance((gammas[0], gammas[1], gammas[2]), (middles[0], middles[1], middles[2]))


def _line(green: NDArray[np.float64], other: NDArray[np.float64], at: float) -> tuple[float, float]:
    """(slope, height at green = `at`) of one layer against green, the slope within what films do."""
    spread = float(np.var(green))
    covariance = float(np.mean((green - green.mean()) * (other - other.mean())))
    slope = covariance / spread if spread > 1e-6 else 1.0
    slope = float(np.clip(slope, 1.0 - _STRETCH, 1.0 + _STRETCH))
    return slope, float(other.mean() + slope * (at - green.mean()))
