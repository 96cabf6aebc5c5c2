"""What stands on a contact sheet, before anybody knows how it is laid out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RGB8 = NDArray[np.uint8]
PICTURE_PX = 1000
"""Longer side of a picture on a sheet: at most 127 mm wide on paper, at 200 pixels an inch."""


@dataclass(frozen=True)
class Cell:
    """One place on film: `number` on the roll, 0 where nothing was taken; `mark` the edge mark as printed; `picture`
    the positive as it is seen, (h, w, 3) sRGB, None where there is none; `words` what is to be said of it; `loud`:
    somebody should look at it."""

    number: int
    mark: str
    picture: RGB8 | None
    words: tuple[str, ...] = ()
    loud: bool = False


@dataclass(frozen=True)
class Piece:
    """One strip, mount or sheet: what stands above it, and its places in the order of the film."""

    heading: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Contact:
    """A whole contact sheet. `title` the roll's label, `job` whose job it is; `facts` (name, value) pairs of what is
    told; `sum` whether the count comes out even; `note` for the foot; sizes of one picture on film in mm, and from one
    to the next."""

    title: str
    job: str
    facts: tuple[tuple[str, str], ...]
    sum: str
    note: str
    pieces: tuple[Piece, ...]
    along_mm: float
    across_mm: float
    pitch_mm: float
