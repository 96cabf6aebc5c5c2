"""Pieces of film as planes of density codes: base, pictures, perforations, print on the rebate, grain, dust.

A piece (`Cell`) is the film between two cuts of a strip: one frame and half of the gap on either side. It is drawn
once, on a grid fixed to the film, so that the same frame looks the same wherever it lies, grain and all.
"""

from __future__ import annotations

from dataclasses import dataclass

from rigd_sim.scene.curve import STOCKS, Stock
from rigd_sim.scene.development import Developer
from rigd_sim.scene.exposing import expose_cell
from rigd_sim.scene.formats import FilmFormat, format_named
from rigd_sim.scene.marks import Marker
from rigd_sim.scene.planes import Bytes
from rigd_sim.scene.roll import Strip
from rigd_sim.scene.spec import SceneSpec


@dataclass(frozen=True)
class Cell:
    """Density codes of one piece, a (H, W) uint8 plane a layer; `left` is its first column on the strip's grid."""

    left: int
    planes: tuple[Bytes, ...]

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
        self._developer = Developer(self.stock, px_per_mm, spec.grain, spec.seed)
        self._marker = Marker(spec, self.stock, px_per_mm)

    def column(self, mm: float) -> int:
        """Column of the strip's grid at that place."""
        return round(mm * self.scale)

    def cell(self, strip: Strip, place: int) -> Cell:
        """The piece with the frame of that place (from 1)."""
        left, right = self.column(strip.cuts[place - 1]), self.column(strip.cuts[place])
        frame = strip.frames[place - 1]
        exposed = expose_cell(self, strip, frame, left, right - left)
        planes = self._developer.develop(exposed, frame, left)
        self._marker.mark(planes, strip, frame, left)
        self._trim(planes)
        return Cell(left, planes)

    def _trim(self, planes: tuple[Bytes, ...]) -> None:
        """No film beyond the film's own width."""
        beyond = round((self.rows - self.form.film * self.scale) / 2)
        if beyond > 0:
            for plane in planes:
                plane[:beyond] = 0
                plane[-beyond:] = 0
