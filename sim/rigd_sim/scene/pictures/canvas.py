"""A canvas of log luminance, drawn on in units of the picture's height, so that a picture looks the same at any size.

x runs from 0 to `aspect` (left to right), y from 0 to 1 (top to bottom). Paints are reflectances (red, green, blue);
0.18 is a mid-tone, 0.9 white paper in the sun.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import cast

import cv2
import numpy as np

from rigd_sim.scene.curve import LOG_STEP, MID_CODE
from rigd_sim.scene.noise import fractal_tile, tiled
from rigd_sim.scene.planes import SUB_PIXEL, Bytes, Floats, Light, as_bytes, offset, resized

Paint = tuple[float, float, float]
Point = tuple[float, float]

PANCHROMATIC = (0.28, 0.60, 0.12)
"""How a mono film weighs red, green and blue."""
_TILE_UNITS = 0.3  # height share that one texture tile covers


def grey(reflectance: float) -> Paint:
    """A neutral paint."""
    return (reflectance, reflectance, reflectance)


def dimmed(paint: Paint, factor: float) -> Paint:
    """The paint with that share of its light."""
    r, g, b = (min(1.0, p * factor) for p in paint)
    return (r, g, b)


def code(paint: Paint) -> tuple[int, int, int]:
    """Picture codes of a paint."""
    log = [MID_CODE + math.log10(max(p, 1e-4) / 0.18) / LOG_STEP for p in paint]
    r, g, b = (round(min(max(c, 1), 255)) for c in log)
    return r, g, b


class Canvas:
    """Codes (h, w, channels) uint8; channels is 1 (mono) or 3."""

    def __init__(self, height: int, width: int, channels: int) -> None:
        self.height, self.width, self.channels = height, width, channels
        self.aspect = width / height
        self.codes: Bytes = np.full((height, width, channels), MID_CODE, np.uint8)

    def ink(self, paint: Paint) -> tuple[int, ...]:
        """The codes that drawing functions take for a paint."""
        if self.channels == 3:
            return code(paint)
        return (code(grey(sum(w * p for w, p in zip(PANCHROMATIC, paint, strict=True))))[0],)

    def polygon(self, points: Sequence[Point] | Floats, paint: Paint) -> None:
        """A filled polygon."""
        cv2.fillPoly(self.codes, [self._fixed(points)], self.ink(paint), cv2.LINE_AA, SUB_PIXEL)

    def box(self, x: float, y: float, width: float, height: float, paint: Paint) -> None:
        """A filled upright rectangle with its upper left corner at (x, y)."""
        self.polygon([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], paint)

    def line(self, points: Sequence[Point] | Floats, width: float, paint: Paint) -> None:
        """A polyline of that width; thinner than a pixel it is drawn one pixel wide, but fainter lines are left out."""
        px = width * self.height
        if px < 0.35:
            return
        cv2.polylines(
            self.codes, [self._fixed(points)], False, self.ink(paint), max(1, round(px)), cv2.LINE_AA, SUB_PIXEL
        )

    def disc(self, x: float, y: float, radius: float, paint: Paint) -> None:
        """A filled circle."""
        centre = self._fixed([(x, y)])[0]
        size = max(1, round(radius * self.height * (1 << SUB_PIXEL)))
        at = (int(centre[0]), int(centre[1]))
        cv2.circle(self.codes, at, size, self.ink(paint), -1, cv2.LINE_AA, SUB_PIXEL)

    def text(self, words: str, x: float, y: float, height: float, paint: Paint, weight: float = 0.14) -> None:
        """Words with their lower left at (x, y), capitals `height` high, strokes `weight` x height thick."""
        px = height * self.height
        if px < 2:
            return
        at = (round(x * self.height), round(y * self.height))
        # The font's capitals are 21 units high at scale 1.
        cv2.putText(
            self.codes,
            words,
            at,
            cv2.FONT_HERSHEY_SIMPLEX,
            px / 21,
            self.ink(paint),
            max(1, round(px * weight)),
            cv2.LINE_AA,
        )

    def rows(self, top: float, values: Light, paint: Paint) -> None:
        """Fills from `top` downwards with a paint whose code changes by `values` (h, w) float32, in codes."""
        start = min(max(round(top * self.height), 0), self.height)
        stop = min(start + values.shape[0], self.height)
        there = self.codes[start:stop]
        planes = [as_bytes(values[: stop - start] + np.float32(base)) for base in self.ink(paint)]
        there[:] = cv2.merge(planes).reshape(there.shape)

    def change(self, change: Bytes, top: int = 0, left: int = 0) -> None:
        """Lightens or darkens a part: codes + (change - 128), (h, w) uint8 with its upper left pixel at (top, left)."""
        there = self.codes[top : top + change.shape[0], left : left + change.shape[1]]
        there[:] = offset(there, cast(Bytes, cv2.merge([change] * self.channels))).reshape(there.shape)

    def mottle(self, points: Sequence[Point] | Floats, seed: int, strength: float, stretch: float = 1.0) -> None:
        """Roughens a polygon with fractal noise of that strength (codes, one standard deviation)."""
        fixed = self._fixed(points) / (1 << SUB_PIXEL)
        left, top = np.maximum(np.floor(fixed.min(axis=0)).astype(int), 0)
        right, bottom = np.minimum(np.ceil(fixed.max(axis=0)).astype(int) + 1, [self.width, self.height])
        if right <= left or bottom <= top:
            return
        mask = np.zeros((bottom - top, right - left), np.uint8)
        cv2.fillPoly(
            mask, [self._fixed(points) - np.array([left, top]) * (1 << SUB_PIXEL)], 255, cv2.LINE_AA, SUB_PIXEL
        )
        pattern = self._pattern(seed, strength, stretch, bottom - top, right - left)
        change = cast(
            Bytes,
            cv2.addWeighted(
                cv2.multiply(pattern, mask, scale=1 / 255, dtype=cv2.CV_32F), 1.0, pattern, 0.0, 128.0, dtype=cv2.CV_8U
            ),
        )
        self.change(change, top, left)

    def _pattern(self, seed: int, strength: float, stretch: float, height: int, width: int) -> Light:
        size = max(16, round(_TILE_UNITS * self.height))
        tile = resized(_tile(stretch), size, size) * np.float32(strength)
        return tiled(tile, height, width, round(seed * 0.137 % 1 * size), round(seed * 0.731 % 1 * size))

    def _fixed(self, points: Sequence[Point] | Floats) -> np.ndarray[tuple[int, int], np.dtype[np.int32]]:
        scaled = np.asarray(points, dtype=np.float64) * self.height - 0.5
        return np.clip(np.round(scaled * (1 << SUB_PIXEL)), -(2**27), 2**27).astype(np.int32)


@lru_cache(maxsize=4)
def _tile(stretch: float) -> Light:
    """The fractal tile of that stretch, 512 x 512."""
    return fractal_tile(7, 512, 1.1, stretch)
