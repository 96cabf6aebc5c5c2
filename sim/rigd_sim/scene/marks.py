"""What is on a piece of film besides pictures: perforations, print on the rebate, dust, scratches, rings."""

from __future__ import annotations

import math
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.scene.curve import Stock
from rigd_sim.scene.formats import PERFORATION_PITCH_MM, format_named
from rigd_sim.scene.planes import SUB_PIXEL, Bytes, Floats
from rigd_sim.scene.roll import Frame, Strip
from rigd_sim.scene.spec import SceneSpec

HOLE_MM = (1.981, 2.794)
"""KS perforation: along, across the film."""
HOLE_EDGE_MM = 2.01
"""Film edge to perforation."""
_HOLE_CORNER_MM = 0.51
_SPECKS = 5
"""Specks on a frame of film that was blown clean."""

Points = NDArray[np.int32]


class Marker:
    """Marks the cells of one roll at one scale."""

    def __init__(self, spec: SceneSpec, stock: Stock, px_per_mm: float) -> None:
        self._spec = spec
        self._stock = stock
        self._scale = px_per_mm
        self._form = format_named(spec.film_format)

    def mark(self, planes: tuple[Bytes, ...], strip: Strip, frame: Frame, left: int) -> None:
        """Draws on the planes of a cell that begins at column `left` of its strip."""
        rng = np.random.default_rng([self._spec.seed, 61, frame.number])
        if frame.spec.rings > 0:
            self._rings(planes, frame.spec.rings, rng)
        for layer, plane in enumerate(planes):
            self._print(plane, layer, frame, left)
            if self._form.perforated:
                self._perforate(plane, strip.origin * self._scale + left)
        self._scratch(planes, rng)
        self._dust(planes, rng)

    def _perforate(self, plane: Bytes, begin: float) -> None:
        """Holes along both edges; `begin` is the cell's first column on the roll."""
        pitch = PERFORATION_PITCH_MM * (1.0 - self._spec.shrinkage) * self._scale
        for n in range(math.floor(begin / pitch) - 1, math.ceil((begin + plane.shape[1]) / pitch) + 1):
            x = n * pitch - begin
            for side in (-1, 1):
                middle = plane.shape[0] / 2 + side * (self._form.film / 2 - HOLE_EDGE_MM - HOLE_MM[1] / 2) * self._scale
                outline = _rounded(
                    x, middle, HOLE_MM[0] * self._scale, HOLE_MM[1] * self._scale, _HOLE_CORNER_MM * self._scale
                )
                cv2.fillPoly(plane, [outline], 0, cv2.LINE_AA, SUB_PIXEL)

    def _print(self, plane: Bytes, layer: int, frame: Frame, left: int) -> None:
        """The maker's name and the frame's number on the rebate: dark on a negative, clear on a positive."""
        if self._form.single:
            return
        curve = self._stock.layers[layer]
        ink = self._stock.code(curve.low + 0.3 if curve.reversal else curve.low + 1.1)
        tall = (1.1 if self._form.perforated else 1.0) * self._scale
        outer = self._form.film / 2 - (0.5 if self._form.perforated else 1.0)
        for words, share, side in (
            (str(frame.number), 0.25, -1),
            (f"{frame.number}A", 0.75, -1),
            ("SURVEY 100 SAFETY", 0.3, 1),
        ):
            x = (frame.start + (frame.end - frame.start) * share) * self._scale - left
            y = plane.shape[0] / 2 + side * outer * self._scale + (tall if side < 0 else 0)
            cv2.putText(
                plane,
                words,
                (round(x), round(y)),
                cv2.FONT_HERSHEY_SIMPLEX,
                tall / 21,
                ink,
                max(1, round(tall * 0.13)),
                cv2.LINE_AA,
            )

    def _dust(self, planes: tuple[Bytes, ...], rng: np.random.Generator) -> None:
        """Specks and fibres: they stop light whatever lies under them."""
        height, width = planes[0].shape
        dark = self._stock.code(2.4)
        for _ in range(int(rng.poisson(_SPECKS * self._spec.dust))):
            at = rng.uniform([0, 0], [width, height])
            points = self._fibre(at, rng) if rng.random() < 0.3 else self._speck(at, rng)
            for plane in planes:
                if len(points) > 12:
                    cv2.polylines(
                        plane, [points], False, dark, max(1, round(0.018 * self._scale)), cv2.LINE_AA, SUB_PIXEL
                    )
                else:
                    cv2.fillPoly(plane, [points], dark, cv2.LINE_AA, SUB_PIXEL)

    def _speck(self, at: Floats, rng: np.random.Generator) -> Points:
        angle = np.sort(rng.uniform(0, 2 * math.pi, 9))
        radius = rng.uniform(0.4, 1.0, 9) * rng.uniform(0.012, 0.06) * self._scale
        return _fixed(at + np.stack([np.cos(angle), np.sin(angle)], 1) * radius[:, None])

    def _fibre(self, at: Floats, rng: np.random.Generator) -> Points:
        heading = rng.uniform(0, 2 * math.pi) + np.cumsum(rng.normal(0, 0.22, 24))
        step = rng.uniform(0.02, 0.09) * self._scale
        return _fixed(at + np.cumsum(np.stack([np.cos(heading), np.sin(heading)], 1) * step, axis=0))

    def _scratch(self, planes: tuple[Bytes, ...], rng: np.random.Generator) -> None:
        """Now and then a faint line along the film."""
        if rng.random() > 0.25 * self._spec.dust:
            return
        row, thick = int(rng.uniform(0.2, 0.8) * planes[0].shape[0]), max(1, round(0.012 * self._scale))
        for plane in planes:
            band = plane[row : row + thick]
            band[:] = np.where(band > 6, band - 5, band)

    def _rings(self, planes: tuple[Bytes, ...], strength: float, rng: np.random.Generator) -> None:
        """Interference rings where film touches glass: each layer's light has rings of its own spacing."""
        height, width = planes[0].shape
        small = (max(2, height // 2), max(2, width // 2))
        y, x = np.mgrid[0 : small[0], 0 : small[1]].astype(np.float32) * np.float32(2 / self._scale)
        centre = rng.uniform(0.35, 0.65, 2) * np.array([height, width]) / self._scale
        squared = (y - centre[0]) ** 2 + ((x - centre[1]) * 1.3) ** 2
        fade = np.exp(-squared / 400.0)
        for plane, wavelength in zip(planes, (650.0, 550.0, 450.0), strict=False):
            # Gap between film and glass grows with r^2 / 2R; R = 20 m gives rings of a mm or so.
            phase = 2 * math.pi * squared / (20_000.0 * wavelength * 1e-6)
            density = strength * fade * np.cos(phase) * 0.4343 / self._stock.step
            change = cv2.resize(density.astype(np.float32), (width, height))
            shifted = cv2.add(plane, change, dtype=cv2.CV_8U)
            plane[:] = np.where(plane > 0, np.maximum(shifted, 1), 0)


def _fixed(points: Floats) -> Points:
    return cast(Points, np.round((points - 0.5) * (1 << SUB_PIXEL)).astype(np.int32))


def _rounded(x: float, middle: float, wide: float, tall: float, radius: float) -> Points:
    """Outline of a rounded rectangle with its left side at x, about `middle`."""
    corners = []
    for sx, sy, begin in ((1, 1, 0.0), (0, 1, 0.5), (0, 0, 1.0), (1, 0, 1.5)):
        angle = math.pi * (begin + np.linspace(0, 0.5, 6))
        centre = (x + (wide - radius if sx else radius), middle + (tall / 2 - radius) * (1 if sy else -1))
        corners.append(np.stack([centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)], 1))
    return _fixed(np.concatenate(corners))
