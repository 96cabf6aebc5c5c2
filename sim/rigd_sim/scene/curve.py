"""The characteristic curve: how density follows the logarithm of exposure (Hurter and Driffield).

Density is D = -log10 T (ISO 5-1). Exposure is log10 relative to an ordinary mid-tone (0.0). Between toe and shoulder
the curve is straight with slope gamma:

    D(h) = d_low + gamma * (s((h - toe) / w) - s((h - shoulder) / w)) * w,   s(u) = ln(1 + e^u)

which is the integral of a slope that rises and falls smoothly. A positive (reversal) film mirrors it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rigd_sim.scene.planes import Floats, Light

CODES = 256
"""Densities and exposures are kept as bytes: tables of 256 entries make the pipeline quick."""
LOG_STEP = 0.01
"""log10 exposure for one code of a picture: 256 codes hold 8.5 stops."""
MID_CODE = 140
"""Picture code of an ordinary mid-tone: 4.7 stops of shadow under it, 3.8 stops of light above it."""


@dataclass(frozen=True)
class Curve:
    """One layer's curve. `low` is base + fog of a negative, or the clearest density of a positive."""

    low: float
    gamma: float
    toe: float
    shoulder: float
    width: float = 0.09
    reversal: bool = False

    @property
    def high(self) -> float:
        """The greatest density the layer can reach."""
        return self.low + self.gamma * (self.shoulder - self.toe)

    @property
    def unexposed(self) -> float:
        """Density where no light fell: base of a negative, black of a positive."""
        return self.high if self.reversal else self.low

    def density(self, log_exposure: Floats) -> Floats:
        """Density of these exposures (log10 relative to a mid-tone), same shape."""
        rise = _softplus(log_exposure - self.toe, self.width) - _softplus(log_exposure - self.shoulder, self.width)
        gained: Floats = self.gamma * rise
        return self.high - gained if self.reversal else self.low + gained


@dataclass(frozen=True)
class Stock:
    """A film: one curve a layer (one for mono, three for colour: red, green, blue densities) and its grain.

    `step` is the density of one code; code 0 is no film at all. `granularity` is the rms density x 1000 seen through
    a round aperture of 48 um at density 1.0 (ISO 10505; the aperture is from memory).
    """

    layers: tuple[Curve, ...]
    step: float
    granularity: float

    def code(self, density: float) -> int:
        """The nearest code of a density."""
        return int(min(max(round(density / self.step), 0), CODES - 1))

    def transmittance(self) -> Light:
        """Transmittance of each of the 256 density codes; code 0 transmits everything."""
        return np.asarray(np.power(10.0, -np.arange(CODES) * self.step), dtype=np.float32)


def _softplus(x: Floats, width: float) -> Floats:
    result: Floats = np.logaddexp(0.0, x / width) * width
    return result


def picture_exposure(stops: float, fog: float = 0.0) -> Floats:
    """log10 exposure of each of the 256 picture codes, for a frame exposed `stops` more, with light `fog` added."""
    log = (np.arange(CODES) - MID_CODE) * LOG_STEP + stops * np.log10(2.0)
    result: Floats = np.log10(np.power(10.0, log) + max(fog, 0.0))
    return result


_MONO_NEGATIVE = Stock((Curve(0.30, 0.62, -0.95, 2.0),), 0.01, 11.0)
"""Base + fog 0.30 D; slope near the 0.62 of ordinary development (ISO 6's average gradient is 0.615)."""
_COLOUR_NEGATIVE = Stock(
    (Curve(0.20, 0.58, -1.0, 2.0), Curve(0.65, 0.60, -1.0, 2.0), Curve(0.90, 0.62, -1.0, 1.5)), 0.01, 6.0
)
"""Base with the orange mask as synthetic test input (0.20, 0.65, 0.90; value from memory), gamma near 0.6."""
_POSITIVE_LAYER = Curve(0.05, 1.75, -0.95, 0.82, 0.12, reversal=True)
_MONO_POSITIVE = Stock((_POSITIVE_LAYER,), 0.0125, 9.0)
_COLOUR_POSITIVE = Stock(
    (_POSITIVE_LAYER, Curve(0.05, 1.72, -0.96, 0.82, 0.12, True), Curve(0.05, 1.70, -0.97, 0.82, 0.12, True)),
    0.0125,
    9.0,
)
"""Clear at 0.05 D, black above 3 D."""

STOCKS: dict[tuple[str, str], Stock] = {
    ("negative", "mono"): _MONO_NEGATIVE,
    ("negative", "colour"): _COLOUR_NEGATIVE,
    ("positive", "mono"): _MONO_POSITIVE,
    ("positive", "colour"): _COLOUR_POSITIVE,
}
