"""A field: the light of one resting place of the film on every pixel of the sensor, ready to be read out.

The film's density is warped into the sensor's geometry once and kept (a byte a layer and pixel); from it follows the
mosaic of light codes, band by band: transmittance, smear of a moving film, lamp and holder, blur, veiling light, colour
filter.
"""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.scene.curve import STOCKS
from rigd_sim.scene.lamp import falloff
from rigd_sim.scene.optics import Optics
from rigd_sim.scene.sensor import BLOCK_ROWS, CFA, encode_flux
from rigd_sim.scene.strips import FilmStore

Codes = NDArray[np.uint8]
Light = NDArray[np.float32]


@dataclass(frozen=True)
class Field:
    """The warped film at one place, and the still mosaic of its light (None until composed)."""

    strip: int | None
    at_mm: float
    f_number: float
    density: tuple[Codes, ...]
    mosaic: NDArray[np.uint16]


class Composer:
    """Makes fields. Holds the parts of the picture that don't move: gate mask, lamp."""

    def __init__(self, optics: Optics, films: FilmStore, pool: Executor) -> None:
        self._optics = optics
        self._films = films
        self._pool = pool
        spec = optics.spec
        width, height = spec.sensor
        self._mask = optics.gate_mask()
        self._columns = falloff(width, height, spec.falloff)
        self._rows = falloff(height, width, spec.falloff)
        self._transmittance = STOCKS[spec.tone, spec.colour].transmittance()

    def field(self, strip: int | None, at_mm: float, f_number: float) -> Field:
        """The still field with `at_mm` of the strip at the gate's middle (strip None: the open gate)."""
        density = self.warp(strip, at_mm)
        return Field(strip, at_mm, f_number, density, self.mosaic(density, f_number))

    def warp(self, strip: int | None, at_mm: float) -> tuple[Codes, ...]:
        """Density codes on the sensor's grid, one (H, W) uint8 plane a layer."""
        width, height = self._optics.spec.sensor
        if strip is None:
            return (np.zeros((height, width), np.uint8),)
        window = self._films.window(strip, at_mm)
        matrix = self._optics.film_to_sensor() @ window.to_film_mm(at_mm)
        return tuple(
            cv2.warpPerspective(p, matrix, (width, height), flags=cv2.INTER_CUBIC, borderValue=0) for p in window.planes
        )

    def mosaic(
        self, density: tuple[Codes, ...], f_number: float, smear: Light | None = None
    ) -> NDArray[np.uint16]:
        """Light codes (H, W) uint16 in RGGB; `smear` is a kernel of the film's path during the exposure."""
        height, width = density[0].shape
        out = np.empty((height, width), np.uint16)
        stray = self._stray(density)
        sigma = self._optics.blur_px(f_number)
        jobs = [
            self._pool.submit(self._band, density, out, row, sigma, smear, stray)
            for row in range(0, height, BLOCK_ROWS)
        ]
        for job in jobs:
            job.result()
        return out

    def _stray(self, density: tuple[Codes, ...]) -> list[float]:
        """Veiling light of each layer: a share of the mean light, measured on every 16th pixel."""
        mask = self._mask[::16, ::16].astype(np.float32) / 255
        means = [float((cv2.LUT(np.ascontiguousarray(p[::16, ::16]), self._transmittance) * mask).mean()) for p in density]
        return [mean * self._optics.spec.stray for mean in means]

    def _band(
        self,
        density: tuple[Codes, ...],
        out: NDArray[np.uint16],
        row: int,
        sigma: float,
        smear: Light | None,
        stray: list[float],
    ) -> None:
        """Composes rows `row` onwards into `out`."""
        height = out.shape[0]
        rows = min(BLOCK_ROWS, height - row)
        halo = math.ceil(3 * sigma) + 1 + (0 if smear is None else smear.shape[0] // 2)
        top, bottom = max(0, row - halo), min(height, row + rows + halo)
        inside = slice(row - top, row - top + rows)
        lights = [self._light(p[top:bottom], top, sigma, smear)[inside] + s for p, s in zip(density, stray, strict=True)]
        band = np.empty((rows, out.shape[1]), np.float32)
        for n, (y, x) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
            channel = (0, 1, 1, 2)[n]
            light = lights[channel if len(lights) == 3 else 0]
            band[y::2, x::2] = light[y::2, x::2] * np.float32(CFA[channel])
        out[row : row + rows] = encode_flux(band)

    def _light(self, density: Codes, top: int, sigma: float, smear: Light | None) -> Light:
        """Light of one layer over a band of rows that starts at `top`."""
        light = cv2.LUT(density, self._transmittance)
        if smear is not None:
            light = cv2.filter2D(light, -1, smear, borderType=cv2.BORDER_REPLICATE)
        light *= self._columns
        light *= self._rows[top : top + len(light), None]
        light = cv2.multiply(light, self._mask[top : top + len(light)], scale=1 / 255, dtype=cv2.CV_32F)
        size = 2 * math.ceil(3 * sigma) + 1
        return cv2.GaussianBlur(light, (size, size), sigma)  # type: ignore[return-value]
