"""A field: the light of one resting place of the film on every pixel of the sensor, ready to be read out.

The film's density is warped into the sensor's geometry once and kept (a byte a layer and pixel); from it follows the
mosaic of light codes, band by band: transmittance, smear of a moving film, lamp and holder, blur, veiling light, colour
filter.
"""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from rigd_sim.scene.curve import STOCKS
from rigd_sim.scene.lamp import falloff
from rigd_sim.scene.optics import Optics
from rigd_sim.scene.planes import Bytes, Light, Words, blurred, looked_up, shaded, smeared, times, warped
from rigd_sim.scene.sensor import BLOCK_ROWS, CFA, encode_flux
from rigd_sim.scene.strips import FilmStore

_STRAY_STEP = 16  # every 16th pixel each way is enough to know the mean light


@dataclass(frozen=True)
class Density:
    """The film in sensor geometry: codes, one (H, W) uint8 plane a layer, and what blurs it."""

    planes: tuple[Bytes, ...]
    blur_px: float
    curl_px: float


@dataclass(frozen=True)
class Field:
    """The film at one place and aperture, and the still mosaic of its light codes (H, W) uint16."""

    density: Density
    mosaic: Words


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
        self._rows = falloff(height, width, spec.falloff)[:, None]
        self._bulge = optics.bulge()
        self._transmittance = STOCKS[spec.tone, spec.colour].transmittance()

    def field(self, strip: int | None, at_mm: float, f_number: float) -> Field:
        """The still field with `at_mm` of the strip at the gate's middle (strip None: the open gate)."""
        density = self.warp(strip, at_mm, f_number)
        return Field(density, self.mosaic(density))

    def warp(self, strip: int | None, at_mm: float, f_number: float) -> Density:
        """The film as it lies."""
        width, height = self._optics.spec.sensor
        blur = self._optics.blur_px(f_number)
        if strip is None:
            return Density((np.zeros((height, width), np.uint8),), blur, 0.0)
        window = self._films.window(strip, at_mm)
        matrix = self._optics.strip_to_sensor() @ window.to_film_mm(at_mm)
        planes = tuple(warped(p, matrix, width, height, cubic=True) for p in window.planes)
        return Density(planes, blur, self._curl(strip, at_mm))

    def mosaic(self, density: Density, smear: Light | None = None) -> Words:
        """Light codes (H, W) uint16 in RGGB; `smear` is a kernel of the film's path during the exposure."""
        height, width = density.planes[0].shape
        out = np.empty((height, width), np.uint16)
        stray = self._stray(density)
        starts = range(0, height, BLOCK_ROWS)
        for job in [self._pool.submit(self._band, density, out, row, smear, stray) for row in starts]:
            job.result()
        return out

    def _curl(self, strip: int, at_mm: float) -> float:
        frame = self._films.frame_at(strip, at_mm)
        own = frame.spec.curl_px if frame else 0.0
        return max(own, self._optics.spec.curl_px, key=abs) * self._optics.finer

    def _stray(self, density: Density) -> list[np.float32]:
        """Veiling light of each layer: a share of the mean light."""
        step = _STRAY_STEP
        mask = np.ascontiguousarray(self._mask[::step, ::step])
        means = [shaded(looked_up(p[::step, ::step], self._transmittance), mask).mean() for p in density.planes]
        return [np.float32(mean * self._optics.spec.stray) for mean in means]

    def _band(self, density: Density, out: Words, row: int, smear: Light | None, stray: list[np.float32]) -> None:
        """Composes the rows from `row` on into `out`."""
        rows = min(BLOCK_ROWS, out.shape[0] - row)
        halo = math.ceil(3 * math.hypot(density.blur_px, density.curl_px)) + 1
        halo += 0 if smear is None else smear.shape[0] // 2
        top, bottom = max(0, row - halo), min(out.shape[0], row + rows + halo)
        inside = slice(row - top, row - top + rows)
        lights = [self._light(p[top:bottom], top, density, smear)[inside] for p in density.planes]
        band = np.empty((rows, out.shape[1]), np.float32)
        for channel, y, x in ((0, 0, 0), (1, 0, 1), (1, 1, 0), (2, 1, 1)):
            layer = channel if len(lights) == 3 else 0
            np.add(lights[layer][y::2, x::2], stray[layer], out=band[y::2, x::2])
            band[y::2, x::2] *= np.float32(CFA[channel])
        out[row : row + rows] = encode_flux(band)

    def _light(self, codes: Bytes, top: int, density: Density, smear: Light | None) -> Light:
        """Light of one layer over a band of rows that starts at `top`."""
        light = looked_up(codes, self._transmittance)
        if smear is not None:
            light = smeared(light, smear)
        times(times(light, self._columns), self._rows[top : top + len(light)])
        light = shaded(light, self._mask[top : top + len(light)])
        sharp = blurred(light, density.blur_px)
        if density.curl_px == 0:
            return sharp
        soft = blurred(light, math.hypot(density.blur_px, density.curl_px))
        if density.curl_px < 0:
            sharp, soft = soft, sharp
        across, along = self._bulge
        return sharp + times(times(soft - sharp, along), across[top : top + len(light), None])
