"""Shutter times that a flickering lamp cannot disturb: whole ripples of the mains, at twice its frequency."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

RIPPLES_HZ = (100.0, 120.0)
"""Twice 50 and twice 60 Hz."""
# Nominal times are up to 0.093 stop off the true ones (1/60 is 1/64): too far to call the nominal value safe or not,
# so what remains of the ripple is the worst of the nominal and the true time.
_SAFE = 0.02


def residual(seconds: float, ripple_hz: float) -> float:
    """How much of a sinusoidal ripple's depth an exposure of `seconds` still shows: |sinc(f t)|."""
    return float(abs(np.sinc(seconds * ripple_hz)))


def third_stop(seconds: float) -> float:
    """The true time of a nominal one: the nearest third of a stop, 2^(-i/3)."""
    return float(2.0 ** (np.rint(3 * np.log2(seconds)) / 3))


def mains_safe(
    times: Iterable[float], ripples_hz: tuple[float, ...] = RIPPLES_HZ, depth: float = 0.3, true_thirds: bool = True,
    most: float = _SAFE,
) -> list[float]:  # fmt: skip
    """Those of a camera's times that leave less than `most` of its light to the ripple, for every frequency given.

    `depth`: the lamp's ripple as a share of its light; 0.3 is a poor lamp (common practice, no source).
    `true_thirds`: the camera's times are thirds of a stop under rounded names; else they are meant as written."""
    return [t for t in times if _worst(t, ripples_hz, true_thirds) * depth < most]


def _worst(seconds: float, ripples_hz: tuple[float, ...], true_thirds: bool) -> float:
    meant = (seconds, third_stop(seconds)) if true_thirds else (seconds,)
    return max(residual(t, f) for t in meant for f in ripples_hz)
