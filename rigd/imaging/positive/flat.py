"""The flat field: what lamp and lens do to the light over the gate, and its inverse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.planes import reduce
from rigd.imaging.raw import Raw

GAIN_ONE = 3000
"""A gain of 1.0, as a whole number: 20 and a little more is the largest there is, and a step is 0.03 %."""
Shape = tuple[tuple[int, int, int, int], tuple[int, int]]
_CELLS = 200
"""Values along the longer side: lamp and lens change slowly, dust and noise do not."""
_LEAST = 0.05
"""Where less light than this share of the brightest arrives, nothing can be evened out: the holder lies there."""


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """Gains, (h, w, 3) float32, 1.0 where the light is brightest and more elsewhere, over the whole sensor."""

    gains: NDArray[np.float32]
    _kept: dict[Shape, NDArray[np.uint16]] = field(default_factory=dict, repr=False)

    def over(self, pattern: tuple[int, int, int, int], shape: tuple[int, int]) -> NDArray[np.uint16]:
        """The gain of each pixel of a mosaic, (H, W) uint16, in steps of 1 / GAIN_ONE. Kept for the next frame, which
        is of the same size: 120 MB at 60 MP."""
        key = (pattern, shape)
        if key not in self._kept:
            self._kept.clear()
            self._kept[key] = self._drawn(pattern, shape)
        return self._kept[key]

    def _drawn(self, pattern: tuple[int, int, int, int], shape: tuple[int, int]) -> NDArray[np.uint16]:
        height, width = shape
        steps = np.minimum(np.rint(self.gains * GAIN_ONE), 65535).astype(np.float32)
        half = cv2.resize(steps, (width // 2, height // 2), interpolation=cv2.INTER_LINEAR)
        result = np.empty((height, width), np.uint16)
        for place, channel in enumerate(pattern):
            result[place // 2 :: 2, place % 2 :: 2] = half[:, :, channel]
        return result


def flat_field(raws: Sequence[Raw]) -> Flat:
    """Gains from one or more takes of the empty, lit gate.

    Raises:
        ValueError: no take, takes of unlike size, or a take that reaches saturation or drowns in noise.
    """
    if not raws:
        raise ValueError("a flat field needs at least one take of the empty gate")
    if len({raw.mosaic.shape for raw in raws}) > 1:
        raise ValueError("the takes of a flat field must be of one size")
    light = np.asarray(np.mean([reduce(raw, _CELLS).linear for raw in raws], axis=0), np.float32)
    brightest = light.max(axis=(0, 1))
    if brightest.max() > 0.97:
        raise ValueError("the take of the empty gate reaches saturation: take it with a shorter time")
    if brightest.min() < 0.02:
        raise ValueError("the take of the empty gate is too dark: take it with a longer time")
    smooth = cv2.GaussianBlur(light, (0, 0), 1.5)
    top = smooth.max(axis=(0, 1))
    gains = top / np.maximum(smooth, top * np.float32(_LEAST))
    return Flat(np.asarray(gains, np.float32))
