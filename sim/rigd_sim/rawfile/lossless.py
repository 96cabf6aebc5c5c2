"""Lossless JPEG (ITU-T T.81, process 14) for raw pictures, in tiles, as DNG stores them."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import imagecodecs
import numpy as np
from numpy.typing import NDArray

TILE = 512
"""Side of a tile in px: a few hundred tiles at 60 MP, enough to keep several threads busy."""


@dataclass(frozen=True)
class Tiles:
    """A picture cut into tiles of one size, in rows from the upper left; each is a JPEG stream."""

    width: int
    height: int
    data: tuple[bytes, ...]


def encode_tiles(mosaic: NDArray[np.uint16], bits: int = 14) -> Tiles:
    """The mosaic (H, W) uint16 as lossless JPEG tiles; tiles at the border are filled up with the mirrored edge."""
    height, width = mosaic.shape
    padded = _padded(mosaic, -height % TILE, -width % TILE)
    corners = [(y, x) for y in range(0, height, TILE) for x in range(0, width, TILE)]
    with ThreadPoolExecutor(min(4, os.cpu_count() or 1), "lossless") as pool:
        data = pool.map(lambda at: _encode(padded[at[0] : at[0] + TILE, at[1] : at[1] + TILE], bits), corners)
        return Tiles(TILE, TILE, tuple(data))


def _encode(tile: NDArray[np.uint16], bits: int) -> bytes:
    """One tile. Each JPEG line holds two lines of the mosaic, so that the pixel above has the same colour."""
    lines = np.ascontiguousarray(tile).reshape(tile.shape[0] // 2, tile.shape[1] * 2)
    return bytes(imagecodecs.ljpeg_encode(lines, bitspersample=bits))


def _padded(mosaic: NDArray[np.uint16], rows: int, columns: int) -> NDArray[np.uint16]:
    if not rows and not columns:
        return mosaic
    return np.pad(mosaic, ((0, rows), (0, columns)), mode="symmetric")
