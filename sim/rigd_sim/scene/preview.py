"""The live view: a small quick picture of the moment."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.scene.curve import STOCKS
from rigd_sim.scene.film import FilmMaker
from rigd_sim.scene.lamp import falloff
from rigd_sim.scene.noise import gaussian_tile
from rigd_sim.scene.optics import Optics
from rigd_sim.scene.roll import Strip
from rigd_sim.scene.sensor import CFA, FULL_WELL, REFERENCE_ISO, Exposure
from rigd_sim.scene.strips import FilmStore

Picture = NDArray[np.uint8]

SCALE_WIDTH = 1152
"""The film is drawn for a live view of this width, and scaled to the one asked for."""


class Preview:
    """Makes live-view pictures from a reduced copy of the film."""

    def __init__(self, optics: Optics, strips: tuple[Strip, ...], reach_mm: float, height_mm: float) -> None:
        self._optics = optics
        spec = optics.spec
        self.maker = FilmMaker(spec, optics.px_per_mm * SCALE_WIDTH / spec.sensor[0], height_mm)
        self.films = FilmStore(self.maker, strips, reach_mm, kept=24)
        self._root = np.sqrt(STOCKS[spec.tone, spec.colour].transmittance())
        self._noise = gaussian_tile(spec.seed + 1, 1024, 2048)
        self._lights: dict[int, NDArray[np.float32]] = {}
        self._count = 0

    def picture(
        self, strip: int | None, at_mm: float, moved_px: tuple[float, float], smear_px: float, width: int,
        exposure: Exposure, automatic: bool,
    ) -> Picture:
        """(h, w, 3) RGB of the film at `at_mm`, its image displaced by `moved_px` (sensor px) and smeared along x."""
        light = self._light(width)
        codes = self._codes(strip, at_mm, moved_px, smear_px, light.shape)
        roots = [cv2.multiply(cv2.LUT(p, self._root), light) for p in codes]
        scale = _display_scale(roots, exposure, automatic)
        shown = [self._develop(root, scale, exposure, n) for n, root in enumerate(roots)]
        return cv2.merge(shown * (3 // len(shown)))  # type: ignore[return-value]

    def _codes(
        self, strip: int | None, at_mm: float, moved_px: tuple[float, float], smear_px: float, shape: tuple[int, ...]
    ) -> list[Picture]:
        """Density codes in live-view geometry, one plane a layer."""
        height, width = shape
        if strip is None:
            return [np.zeros((height, width), np.uint8)]
        window = self.films.window(strip, at_mm)
        matrix = _shrink(width / self._optics.spec.sensor[0], moved_px) @ self._optics.film_to_sensor()
        matrix = matrix @ window.to_film_mm(at_mm)
        smear = round(smear_px * SCALE_WIDTH / self._optics.spec.sensor[0])
        planes = [cv2.blur(p, (smear, 1)) for p in window.planes] if smear > 1 else list(window.planes)
        return [cv2.warpPerspective(p, matrix, (width, height), flags=cv2.INTER_LINEAR) for p in planes]

    def _light(self, width: int) -> NDArray[np.float32]:
        """Root of the light that lamp and holder give each pixel, (h, w) float32."""
        if width not in self._lights:
            full_width, full_height = self._optics.spec.sensor
            height = round(width * full_height / full_width)
            corner = self._optics.spec.falloff
            lamp = falloff(width, height, corner)[None, :] * falloff(height, width, corner)[:, None]
            mask = cv2.resize(self._optics.gate_mask(), (width, height), interpolation=cv2.INTER_AREA)
            self._lights[width] = np.sqrt(lamp * (mask.astype(np.float32) / 255)).astype(np.float32)
        return self._lights[width]

    def _develop(self, root: NDArray[np.float32], scale: float, exposure: Exposure, layer: int) -> Picture:
        """Display values of one channel: a square-root tone curve, in which shot noise is even."""
        self._count += 1
        height, width = root.shape
        row, column = (self._count * 173) % (1024 - height), (self._count * 397 + layer) % max(1, 2048 - width)
        noise = self._noise[row : row + height, column : column + width]
        wide = 255.0 * scale / math.sqrt(max(exposure.electrons * (CFA[1]), 1.0)) * 0.5
        return cv2.addWeighted(root, 255.0 * scale, noise, min(wide, 12.0), 0.0, dtype=cv2.CV_8U)  # type: ignore[return-value]


def _display_scale(roots: list[NDArray[np.float32]], exposure: Exposure, automatic: bool) -> float:
    """Factor from root of flux to display 0..1: that of the exposure, or one that puts the lights near the top."""
    if automatic:
        top = max(float(np.percentile(r[::8, ::8], 99.0)) for r in roots)
        return 0.9 / max(top, 1e-3)
    return math.sqrt(exposure.electrons * exposure.iso / REFERENCE_ISO / FULL_WELL)


def _shrink(scale: float, moved_px: tuple[float, float]) -> NDArray[np.float64]:
    """From sensor px (first displaced by `moved_px`) to live-view px."""
    half = (scale - 1) / 2
    return np.array([
        [scale, 0.0, moved_px[0] * scale + half],
        [0.0, scale, moved_px[1] * scale + half],
        [0.0, 0.0, 1.0],
    ])
