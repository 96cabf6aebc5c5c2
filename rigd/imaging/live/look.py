"""A live picture reduced to bands: enough to measure movement and to find edges, and quick enough for every picture."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.errors import RawUnreadable

Bands = NDArray[np.float32]

# Bands across each direction: of a 640 px high picture each is 20 px, under a millimetre of most formats.
BANDS = 32


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """One live picture, turned so that the film runs along x; brightness 0 to 255 as it is displayed.

    `along` (32, w): 32 bands, one below the other, at full resolution along the film. `across` (32, h): 32 bands side
    by side, at full resolution across it. `size`: (w, h) in px. `mark`: a checksum of the file; no two pictures of a
    camera that sees are equal, because their noise is not."""

    along: Bands
    across: Bands
    size: tuple[int, int]
    mark: int


def look(jpeg: bytes, along_x: bool = True) -> Look:
    """Decode and reduce. `along_x` False: the film runs from top to bottom of the picture.

    Raises:
        RawUnreadable: it is no picture.
    """
    data = np.frombuffer(jpeg, np.uint8)
    grey = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE) if data.size else None
    if grey is None:
        raise unreadable_live()
    return look_of(np.asarray(grey, np.uint8) if along_x else np.ascontiguousarray(grey.T), zlib.crc32(jpeg))


def look_of(grey: NDArray[np.uint8], mark: int = 0) -> Look:
    """Of a grey picture (h, w), already turned."""
    height, width = grey.shape
    rows = cv2.resize(grey, (width, BANDS), interpolation=cv2.INTER_AREA)
    columns = cv2.resize(grey, (BANDS, height), interpolation=cv2.INTER_AREA)
    across = np.ascontiguousarray(columns.T)
    return Look(np.asarray(rows, np.float32), np.asarray(across, np.float32), (width, height), mark)


def unreadable_live() -> RawUnreadable:
    """The error of a live picture that cannot be decoded."""
    return RawUnreadable("A live picture could not be decoded.", "It is no JPEG file.", "Look at the camera's screen.")


def band_range(first: float, last: float, length: int) -> slice:
    """The bands that lie wholly between two places (px) of a side of that length; at least one."""
    step = length / BANDS
    begin = int(np.ceil(max(0.0, first) / step))
    end = int(np.floor(min(float(length), last) / step))
    if end <= begin:
        begin = min(BANDS - 1, max(0, int((first + last) / 2 / step)))
        end = begin + 1
    return slice(begin, end)
