"""The film that is cut and ready: cells drawn on demand, the last few kept, and windows cut out of them."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from rigd_sim.scene.film import Cell, FilmMaker
from rigd_sim.scene.planes import Bytes, Floats
from rigd_sim.scene.roll import Frame, Strip


@dataclass(frozen=True)
class Window:
    """A stretch of film: planes (rows, columns) uint8, the first column at `left` of the strip's grid."""

    planes: tuple[Bytes, ...]
    left: int
    px_per_mm: float

    def to_film_mm(self, at_mm: float) -> Floats:
        """Homography from this window's px to film mm about the gate's middle, with `at_mm` of the strip there."""
        scale = 1.0 / self.px_per_mm
        rows = self.planes[0].shape[0]
        x = (self.left + 0.5) * scale - at_mm
        y = (0.5 - rows / 2) * scale
        return np.array([[scale, 0.0, x], [0.0, scale, y], [0.0, 0.0, 1.0]])


class FilmStore:
    """Cells of a roll by strip and place. Any thread may ask; one draws at a time."""

    def __init__(self, maker: FilmMaker, strips: tuple[Strip, ...], reach_mm: float, kept: int = 3) -> None:
        self._maker = maker
        self._strips = {strip.number: strip for strip in strips}
        self._reach = reach_mm
        self._kept = kept
        self._cells: OrderedDict[tuple[int, int], Cell] = OrderedDict()
        self._lock = threading.Lock()

    def window(self, number: int, at_mm: float) -> Window:
        """The film in view with `at_mm` at the gate's middle; beyond the strip's ends there is none (code 0)."""
        strip = self._strips[number]
        left, right = (self._maker.column(at_mm + side * self._reach) for side in (-1, 1))
        layers = len(self._maker.stock.layers)
        planes = tuple(np.zeros((self._maker.rows, right - left), np.uint8) for _ in range(layers))
        for place, (start, end) in enumerate(pairwise(strip.cuts), start=1):
            if start < at_mm + self._reach and end > at_mm - self._reach:
                _paste(planes, self.cell(strip, place), left)
        return Window(planes, left, self._maker.scale)

    @property
    def px_per_mm(self) -> float:
        """Scale of the cells."""
        return self._maker.scale

    def column(self, mm: float) -> int:
        """Column of a strip's grid at that place."""
        return self._maker.column(mm)

    def frame_at(self, number: int, at_mm: float) -> Frame | None:
        """The frame that lies at the gate's middle, if one does."""
        return next((f for f in self._strips[number].frames if f.start <= at_mm <= f.end), None)

    def cell(self, strip: Strip, place: int) -> Cell:
        """That piece, drawn now if it isn't kept."""
        key = (strip.number, place)
        with self._lock:
            if key not in self._cells:
                self._cells[key] = self._maker.cell(strip, place)
            self._cells.move_to_end(key)
            while len(self._cells) > self._kept:
                self._cells.popitem(last=False)
            return self._cells[key]


def _paste(planes: tuple[Bytes, ...], cell: Cell, left: int) -> None:
    """Copies the part of the cell that falls into the window."""
    begin, end = max(cell.left, left), min(cell.left + cell.width, left + planes[0].shape[1])
    if begin >= end:
        return
    for plane, source in zip(planes, cell.planes, strict=True):
        plane[:, begin - left : end - left] = source[:, begin - cell.left : end - cell.left]
