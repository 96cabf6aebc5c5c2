"""The light table: level, ripple, fall-off towards the corners."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from rigd_sim.scene.planes import Light


class Lamp:
    """A lamp that was switched at known times; level 1.0 is full."""

    _KEPT = 256

    def __init__(self, flicker_hz: float = 0.0, flicker_depth: float = 0.0) -> None:
        self._hertz = flicker_hz
        self._depth = flicker_depth
        self._switched: tuple[tuple[float, float], ...] = ((float("-inf"), 1.0),)

    def set(self, at: float, level: float) -> None:
        """From that time on the lamp shines with this level (0 = off). Raises ValueError below 0."""
        if level < 0:
            raise ValueError(f"a lamp's level is at least 0, not {level}")
        self._switched = (*[s for s in self._switched if s[0] <= at][-self._KEPT :], (at, level))

    def level(self, at: float) -> float:
        """Level without ripple at that time."""
        return next(level for start, level in reversed(self._switched) if start <= at)

    def ripple(self, start: float, seconds: float) -> float:
        """Mean of 1 + depth sin(2 pi f t) over the exposure; its size is depth |sinc(f t)|."""
        if self._depth == 0.0 or self._hertz <= 0.0:
            return 1.0
        omega = 2.0 * math.pi * self._hertz
        if seconds <= 0:
            return 1.0 + self._depth * math.sin(omega * start)
        return 1.0 + self._depth * (math.cos(omega * start) - math.cos(omega * (start + seconds))) / (omega * seconds)

    def mean(self, start: float, seconds: float) -> float:
        """Mean level over an exposure, ripple and switching within it included."""
        end = start + seconds
        edges = [start, *[s for s, _ in self._switched if start < s < end], end]
        if seconds <= 0:
            return self.level(start) * self.ripple(start, 0.0)
        parts = pairwise(edges)
        return sum(self.level(a) * self.ripple(a, b - a) * (b - a) for a, b in parts) / seconds


def falloff(length: int, other: int, corner: float, off_centre: float = 0.0) -> Light:
    """One axis of the lamp's evenness, (length,) float32: the product of both axes is 1 - corner in the corner.

    A Gaussian falls off as a product of its axes, so a plane of it costs two multiplications by vectors.
    `other` is the sensor's other side in px; `off_centre` moves the brightest place, as a share of the length.
    """
    half = math.hypot(length, other) / 2.0
    place = (np.arange(length) - (length - 1) / 2.0 - off_centre * length) / half
    return np.asarray(np.power(1.0 - corner, place**2), dtype=np.float32)
