"""Whether two looks show the same frame, wherever it lay in the gate and however bright the live picture was."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.live.bed import Bed
from rigd.imaging.live.look import Look, band_range
from rigd.model.formats import FilmFormat

# A frame as 36 columns of 24 rows: a cell is 1 to 2 mm of film, so that half a millimetre more or less does not matter.
_COLUMNS, _ROWS = 36, 24
# Edges of frames are left out: a blank has none of its own.
_TRIM_MM = 1.5
# Display levels: a frame with less relief than this shows nothing that could be recognised.
_FLAT = 0.8
# What is broader than so many cells (sky over water) is common to many pictures.
_BROAD = 9
# Columns by which the frame may have been found elsewhere.
_PLAY = 2
# The same frame gives over 0.75 in live pictures two stops apart, other frames of a roll under 0.65.
ALIKE = 0.75


class Likeness(Struct, frozen=True):
    """`cells`: 24 x 36 levels as bytes, row by row, mean 128, one standard deviation 32; b"" where the frame shows
    nothing to be recognised by."""

    cells: bytes

    @property
    def blank(self) -> bool:
        return not self.cells


def likeness(one: Look, bed: Bed, film: FilmFormat, left_mm: float, right_mm: float) -> Likeness:
    """Of the frame between two places, in mm right of the gate's middle."""
    _, top, _, bottom = bed.picture(film)
    rows = band_range(top, bottom, one.size[1])
    begin = int((left_mm + _TRIM_MM) * bed.px_per_mm + bed.middle)
    end = int((right_mm - _TRIM_MM) * bed.px_per_mm + bed.middle)
    bands = one.along[rows, max(0, begin) : max(1, end)]
    cells = np.asarray(cv2.resize(bands, (_COLUMNS, _ROWS), interpolation=cv2.INTER_AREA), np.float32)
    cells = cells - cv2.blur(cells, (_BROAD, _BROAD))
    spread = float(cells.std())
    if spread < _FLAT:
        return Likeness(b"")
    coded = np.clip(np.rint((cells - cells.mean()) / spread * 32 + 128), 0, 255).astype(np.uint8)
    return Likeness(coded.tobytes())


def alike(one: Likeness, other: Likeness) -> float:
    """Correlation of two frames, -1 to 1, at the best of a few places; 0.0 where either shows nothing."""
    if one.blank or other.blank:
        return 0.0
    a, b = _cells(one), _cells(other)
    return max(_correlation(a, b, play) for play in range(-_PLAY, _PLAY + 1))


def _cells(one: Likeness) -> NDArray[np.float32]:
    return np.frombuffer(one.cells, np.uint8).reshape(_ROWS, _COLUMNS).astype(np.float32)


def _correlation(a: NDArray[np.float32], b: NDArray[np.float32], play: int) -> float:
    n = _COLUMNS
    x, y = a[:, max(0, play) : n + min(0, play)], b[:, max(0, -play) : n - max(0, play)]
    x, y = x - x.mean(), y - y.mean()
    power = float(np.sqrt((x * x).sum() * (y * y).sum()))
    return float((x * y).sum()) / power if power > 0 else 0.0
