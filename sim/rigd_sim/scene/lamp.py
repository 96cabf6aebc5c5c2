"""The light table: level, warming up, ripple, fall-off towards the corners."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from rigd_sim.scene.planes import Floats, Light

WARM_SECONDS = 90.0
"""Time constant of a lamp that warms up: steady to a hundredth of its drift after 7 minutes."""


class Lamp:
    """A lamp that was switched at known times; level 1.0 is full.

    `warm_up` is the share by which it is brighter when just switched on (it is warm at the beginning), `flicker_depth`
    the ripple's peak as a share of the level.
    """

    _KEPT = 256

    def __init__(self, flicker_hz: float = 0.0, flicker_depth: float = 0.0, warm_up: float = 0.0) -> None:
        self._hertz = flicker_hz
        self._depth = flicker_depth
        self._warm_up = warm_up
        self._switched: tuple[tuple[float, float], ...] = ((float("-inf"), 1.0),)

    def set(self, at: float, level: float) -> None:
        """From that time on the lamp shines with this level (0 = off). Raises ValueError below 0."""
        if level < 0:
            raise ValueError(f"a lamp's level is at least 0, not {level}")
        self._switched = (*[s for s in self._switched if s[0] <= at][-self._KEPT :], (at, level))

    def level(self, at: float) -> float:
        """Level at that time, without ripple."""
        last = max(n for n, (start, _) in enumerate(self._switched) if start <= at)
        lit = last
        while lit > 0 and self._switched[lit - 1][1] > 0:
            lit -= 1
        since = at - self._switched[lit][0]
        return self._switched[last][1] * (1.0 + self._warm_up * math.exp(-since / WARM_SECONDS))

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
        parts = [self.level((a + b) / 2) * self.ripple(a, b - a) * (b - a) for a, b in pairwise(edges)]
        return sum(parts) / seconds

    def bands(self, start: float, seconds: float, readout: float, rows: int) -> Light | None:
        """Each row's light relative to the mean, (rows,) float32, if the shutter takes `readout` s to cross the frame.

        None where no band can show.
        """
        if readout <= 0 or self._depth == 0.0:
            return None
        steps: Floats = start + np.arange(rows) / rows * readout
        light = np.array([self.ripple(float(t), seconds) for t in steps])
        return np.asarray(light / light.mean(), dtype=np.float32)


def falloff(length: int, other: int, corner: float) -> Light:
    """One axis of the lamp's evenness, (length,) float32: the product of both axes is 1 - corner in the corner.

    A Gaussian falls off as a product of its axes, so a plane of it costs two multiplications by vectors.
    `other` is the sensor's other side in px.
    """
    half = math.hypot(length, other) / 2.0
    place = (np.arange(length) - (length - 1) / 2.0) / half
    return np.asarray(np.power(1.0 - corner, place**2), dtype=np.float32)
