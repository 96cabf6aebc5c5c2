"""Tiles of noise, made once and laid at many offsets: drawing fresh noise for every picture would take seconds."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]


def gaussian_tile(seed: int, height: int, width: int) -> Plane:
    """White Gaussian noise, mean 0, standard deviation 1, (height, width) float32."""
    return np.random.default_rng([seed, 11]).standard_normal((height, width), dtype=np.float32)


def grain_tile(seed: int, size: int, grain_px: float) -> Plane:
    """Film grain, mean 0, standard deviation 1, periodic, (size, size) float32. `grain_px` is the clump's blur in px."""
    white = np.random.default_rng([seed, 12]).standard_normal((size, size), dtype=np.float32)
    if grain_px < 0.2:
        return white
    pad = 16
    wrapped = cv2.copyMakeBorder(white, pad, pad, pad, pad, cv2.BORDER_WRAP)
    soft = cv2.GaussianBlur(wrapped, (0, 0), grain_px)[pad:-pad, pad:-pad]
    return np.ascontiguousarray((soft - soft.mean()) / soft.std(), dtype=np.float32)


def tiled(tile: Plane, height: int, width: int, row: int = 0, column: int = 0) -> Plane:
    """The periodic tile repeated over (height, width), beginning at (row, column) of it."""
    rows = np.arange(row, row + height) % tile.shape[0]
    columns = np.arange(column, column + width) % tile.shape[1]
    return tile[rows[:, None], columns[None, :]]


def cloud(rng: np.random.Generator, height: int, width: int, cells: float, octaves: int, stretch: float = 1.0) -> Plane:
    """Smooth fractal noise, about -1..1, (height, width) float32.

    `cells` is how many lumps of the coarsest octave lie over the height; each octave has twice as many and half the
    weight. `stretch` draws the lumps out sideways. The same generator state gives the same clouds at any resolution.
    """
    work = np.zeros((max(height // 2, 2), max(width // 2, 2)), np.float32)
    aspect = width / height / stretch
    weight = 0.5
    for _ in range(octaves):
        lattice = _lattice(rng, int(cells) + 2, int(cells * aspect) + 2)
        work += cv2.resize(lattice, work.shape[::-1], interpolation=cv2.INTER_CUBIC) * weight
        cells, weight = cells * 2.0, weight * 0.5
    return cv2.resize(work, (width, height), interpolation=cv2.INTER_LINEAR)


def _lattice(rng: np.random.Generator, rows: int, columns: int) -> Plane:
    limit = 2048  # a finer lattice than this is invisible and only costs time
    return rng.uniform(-1.0, 1.0, (min(rows, limit), min(columns, limit))).astype(np.float32)
