"""Pieces of film as planes of density: base, pictures, perforations, grain, dust.

A piece (`Cell`) is the film between two cuts of a strip: one frame and half of the gap on either side. It is drawn once,
on a grid fixed to the film, so that the same frame looks the same wherever it lies, grain and all.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.scene.curve import STOCKS, Stock, picture_exposure
from rigd_sim.scene.formats import PERFORATION_PITCH_MM, FilmFormat, format_named
from rigd_sim.scene.noise import grain_tile, tiled
from rigd_sim.scene.pictures import draw_picture
from rigd_sim.scene.roll import Frame, Strip
from rigd_sim.scene.spec import SceneSpec

Codes = NDArray[np.uint8]

GRAIN_TILE = 1024


@dataclass(frozen=True)
class Cell:
    """Density codes of one piece, a (H, W) uint8 plane a layer; `left` is its first column on the strip's grid."""

    left: int
    planes: tuple[Codes, ...]

    @property
    def width(self) -> int:
        """Columns."""
        return int(self.planes[0].shape[1])


class FilmMaker:
    """Draws cells of a roll at one scale. `height_mm` is how much of the film's width is drawn, about its middle."""

    def __init__(self, spec: SceneSpec, px_per_mm: float, height_mm: float) -> None:
        self.spec = spec
        self.scale = px_per_mm
        self.rows = round(height_mm * px_per_mm)
        self.form: FilmFormat = format_named(spec.film_format)
        self.stock: Stock = STOCKS[spec.tone, spec.colour]
        self._grain = grain_tile(spec.seed, GRAIN_TILE, 0.006 * px_per_mm)

    def column(self, mm: float) -> int:
        """Column of the strip's grid at that place."""
        return round(mm * self.scale)

    def cell(self, strip: Strip, place: int) -> Cell:
        """The piece with the frame of that place (from 1)."""
        left, right = self.column(strip.cuts[place - 1]), self.column(strip.cuts[place])
        planes = [np.full((self.rows, right - left), self.stock.code(c.unexposed), np.uint8) for c in self.stock.layers]
        frame = strip.frames[place - 1]
        if frame.exposed:
            self._expose(planes, frame, left)
        if self.form.perforated:
            for plane in planes:
                self._perforate(plane, strip.origin + left / self.scale)
        return Cell(left, tuple(planes))

    def _expose(self, planes: list[Codes], frame: Frame, left: int) -> None:
        x = self.column(frame.start) - left
        width = min(self.column(frame.end) - self.column(frame.start), planes[0].shape[1] - x)
        height = round(frame.height * self.scale)
        y = (self.rows - height) // 2
        picture = draw_picture(self.spec.seed, frame.number, height, width, len(planes))
        log = picture_exposure(frame.stops, frame.spec.fog)
        for n, (plane, curve) in enumerate(zip(planes, self.stock.layers, strict=True)):
            density = (curve.density(log) / self.stock.step).astype(np.float32)
            codes = cv2.LUT(np.ascontiguousarray(picture[:, :, n]), density)
            codes += tiled(self._grain, height, width, 0, left + x) * 2.0
            plane[y : y + height, x : x + width] = np.clip(np.rint(codes), 1, 255).astype(np.uint8)

    def _perforate(self, plane: Codes, start_mm: float) -> None:
        """KS perforations: 1.981 mm along, 2.794 mm across, 2.01 mm from the film's edge, every 4.75 mm."""
        for n in range(int(start_mm / PERFORATION_PITCH_MM) - 1, int((start_mm + 300) / PERFORATION_PITCH_MM)):
            x0 = (n * PERFORATION_PITCH_MM - start_mm) * self.scale
            for y0 in (-self.form.film / 2 + 2.01, self.form.film / 2 - 2.01 - 2.794):
                top = y0 * self.scale + self.rows / 2
                a, b = (round(x0), round(top)), (round(x0 + 1.981 * self.scale), round(top + 2.794 * self.scale))
                cv2.rectangle(plane, a, b, 0, -1)
