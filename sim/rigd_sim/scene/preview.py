"""The live view: a small quick picture of the moment."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np

from rigd_sim.scene.curve import STOCKS
from rigd_sim.scene.film import FilmMaker
from rigd_sim.scene.lamp import falloff
from rigd_sim.scene.noise import gaussian_tile
from rigd_sim.scene.optics import Optics
from rigd_sim.scene.planes import Bytes, Floats, Light, looked_up, reduced, warped
from rigd_sim.scene.roll import Strip
from rigd_sim.scene.sensor import FULL_WELL, REFERENCE_ISO, Exposure
from rigd_sim.scene.strips import FilmStore

SCALE_WIDTH = 1152
"""The film is drawn for a live view of this width, and scaled to the one asked for."""
_NOISE = (1031, 2053)  # primes: rows and columns of the noise tile, so that offsets take long to repeat
_AUTO_TOP = 0.9
"""Where an automatic live view puts its lights, on the display's scale."""


@dataclass(frozen=True)
class Moment:
    """What the live view sees: film at `at_mm` of the strip, its image displaced and smeared along x (sensor px)."""

    strip: int | None
    at_mm: float
    moved_px: tuple[float, float]
    smear_px: float


class Preview:
    """Makes live-view pictures from a reduced copy of the film. One thread at a time."""

    def __init__(self, optics: Optics, strips: tuple[Strip, ...], reach_mm: float, height_mm: float) -> None:
        self._optics = optics
        spec = optics.spec
        maker = FilmMaker(spec, optics.px_per_mm * SCALE_WIDTH / spec.sensor[0], height_mm)
        self.films = FilmStore(maker, strips, reach_mm, kept=24)
        self._root = np.sqrt(STOCKS[spec.tone, spec.colour].transmittance())
        self._noise = gaussian_tile(spec.seed + 1, *_NOISE)
        self._lights: dict[int, Light] = {}
        self._count = 0

    def change(self, optics: Optics) -> None:
        """From now on the rig stands like that."""
        self._optics = optics
        self._lights = {}

    def picture(self, moment: Moment, width: int, exposure: Exposure, automatic: bool) -> Bytes:
        """(h, w, 3) uint8 RGB, white-balanced to the lamp. Raises ValueError for a width outside 64..1920."""
        if not 64 <= width <= 1920:
            raise ValueError(f"a live view is 64 to 1920 px wide, not {width}")
        light = self._light(width)
        roots = [cast(Light, cv2.multiply(looked_up(p, self._root), light)) for p in self._codes(moment, light.shape)]
        scale = _automatic_scale(roots) if automatic else _display_scale(exposure)
        shown = [self._develop(root, scale, exposure) for root in roots]
        return cast(Bytes, cv2.merge(shown * (3 // len(shown))))

    def _codes(self, moment: Moment, shape: tuple[int, ...]) -> list[Bytes]:
        """Density codes in live-view geometry, one plane a layer."""
        height, width = shape
        if moment.strip is None:
            return [np.zeros((height, width), np.uint8)]
        window = self.films.window(moment.strip, moment.at_mm)
        sensor_width = self._optics.spec.sensor[0]
        matrix = _shrink(width / sensor_width, moment.moved_px) @ self._optics.strip_to_sensor()
        matrix = matrix @ window.to_film_mm(moment.at_mm)
        smear = round(moment.smear_px * SCALE_WIDTH / sensor_width)
        planes = [cast(Bytes, cv2.blur(p, (smear, 1))) if smear > 1 else p for p in window.planes]
        return [warped(p, matrix, width, height, cubic=False) for p in planes]

    def _light(self, width: int) -> Light:
        """Root of the light that lamp and holder give each pixel, (h, w) float32."""
        if width not in self._lights:
            full_width, full_height = self._optics.spec.sensor
            height = round(width * full_height / full_width)
            corner = self._optics.spec.falloff
            lamp = falloff(width, height, corner)[None, :] * falloff(height, width, corner)[:, None]
            mask = reduced(self._optics.gate_mask(), width, height)
            self._lights[width] = np.asarray(np.sqrt(lamp * (mask / 255.0)), dtype=np.float32)
        return self._lights[width]

    def _develop(self, root: Light, scale: float, exposure: Exposure) -> Bytes:
        """Display values of one channel: a square-root tone curve, in which shot noise is even.

        The noise of a root of n electrons is 1/2; an amplified (automatic, dark) picture shows it larger.
        """
        self._count += 1
        height, width = root.shape
        row, column = self._count * 173 % (_NOISE[0] - height + 1), self._count * 397 % (_NOISE[1] - width + 1)
        noise = self._noise[row : row + height, column : column + width]
        grain = 0.5 * scale / math.sqrt(max(exposure.electrons, 1.0))
        shown = cv2.addWeighted(root, 255.0 * scale, noise, 255.0 * min(grain, 0.05), 0.0, dtype=cv2.CV_8U)
        return cast(Bytes, shown)


def _display_scale(exposure: Exposure) -> float:
    """Factor from root of flux to display 0..1 that shows what the exposure would give."""
    return math.sqrt(exposure.electrons * exposure.iso / REFERENCE_ISO / FULL_WELL)


def _automatic_scale(roots: list[Light]) -> float:
    """Factor that puts the lights near the top."""
    top = max(float(np.percentile(root[::8, ::8], 99.0)) for root in roots)
    return _AUTO_TOP / max(top, 1e-3)


def _shrink(scale: float, moved_px: tuple[float, float]) -> Floats:
    """From sensor px (first displaced by `moved_px`) to live-view px."""
    half = (scale - 1) / 2
    x, y = (moved * scale + half for moved in moved_px)
    return np.array([[scale, 0.0, x], [0.0, scale, y], [0.0, 0.0, 1.0]])
