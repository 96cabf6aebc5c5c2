"""The finest detail of a picture, grain above all, free of the sensor's noise: what softness is read from.

The two greens of a colour cell see the same light with noises that know nothing of each other. The cross spectrum of
their planes therefore holds the picture's own detail alone, and neither read nor shot noise adds to its mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.planes import Box
from rigd.imaging.raw import Raw

TILE = 128
"""Side of a tile in sensor pixels: 64 x 64 greens of each kind."""
ROWS, COLUMNS = 9, 12
RINGS = ((0.09, 0.12), (0.12, 0.15), (0.15, 0.18), (0.18, 0.21), (0.21, 0.24))
"""Spatial frequencies in cycles a pixel; a plane of one green reaches to 0.25."""
SECTORS = 8
# Values that a Hann window makes one of, in two dimensions (3/2 each way).
_TIED = 2.25
_LOW = (0.045, 0.08)
# Levels between which grain can be measured: clear of saturation, and of the black that leaves no signal.
_LEVELS = (-9.0, -0.1)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Fine:
    """`power` (tiles, rings x sectors): mean power a cell of frequencies, relative to the square of the light; it may
    be a little under zero. `noise` (tiles, rings x sectors): its standard error by noise. `low` (tiles,): power of
    coarser detail. `level` (tiles,): stops under saturation. `x`, `y` (tiles,): place in the picture, 0 to 1."""

    power: Array
    noise: Array
    low: Array
    level: Array
    x: Array
    y: Array


@cache
def _grid() -> tuple[Array, Array, Array, Array]:
    """Frequencies of the half plane a real transform keeps, (fy, fx, radius, direction in degrees)."""
    n = TILE // 2
    fy = np.repeat((np.fft.fftfreq(n) / 2)[:, None], n // 2, axis=1)
    fx = np.repeat((np.arange(n // 2) / n / 2)[None, :], n, axis=0)
    return fy, fx, np.hypot(fx, fy), np.degrees(np.arctan2(fy, fx)) % 180


@cache
def _cells() -> NDArray[np.float32]:
    """(1 + rings x sectors, frequencies): weights that average a spectrum over each cell; the first is the low ring."""
    _, _, radius, direction = _grid()
    masks = [(radius >= _LOW[0]) & (radius < _LOW[1])]
    for low, high in RINGS:
        for sector in range(SECTORS):
            away = np.abs((direction - sector * 180 / SECTORS + 90) % 180 - 90)
            masks.append((radius >= low) & (radius < high) & (away <= 90 / SECTORS))
    return np.array([m.ravel() / max(1, m.sum()) for m in masks], np.float32)


@cache
def _spreads() -> NDArray[np.float32]:
    """Weights that give the square of a cell mean's error from squared values: the window ties neighbours together."""
    return np.asarray(_cells() ** 2 * _TIED, np.float32)


@cache
def cell_frequencies() -> tuple[Array, Array]:
    """Mean frequency (cycles a pixel) along x and y of each cell, for quadratic forms: signs as in the sector."""
    _, _, radius, _ = _grid()
    weights = _cells()[1:]
    mean = np.sqrt(weights @ (radius.ravel() ** 2))
    turn = np.radians(np.tile(np.arange(SECTORS) * 180.0 / SECTORS, len(RINGS)))
    return mean * np.cos(turn), mean * np.sin(turn)


def fine_detail(raw: Raw, box: Box) -> Fine | None:
    """Measure tiles spread over a box; None for a sensor without colour filters, or a box smaller than a tile."""
    greens = [place for place, channel in enumerate(raw.pattern) if channel == 1]
    if raw.mono or len(greens) != 2 or box[2] - box[0] < TILE or box[3] - box[1] < TILE:
        return None
    found, spectra, strays = [], [], []
    for row in range(ROWS):
        for column in range(COLUMNS):
            x, y = (column + 0.5) / COLUMNS, (row + 0.5) / ROWS
            left = min(max(box[0], int(box[0] + x * (box[2] - box[0]) - TILE / 2)), box[2] - TILE) & ~1
            top = min(max(box[1], int(box[1] + y * (box[3] - box[1]) - TILE / 2)), box[3] - TILE) & ~1
            tile = raw.mosaic[top : top + TILE, left : left + TILE]
            measured = _measure(tile, raw, greens)
            if measured is not None:
                spectra.append(measured[0])
                strays.append(measured[1])
                found.append((measured[2], x, y))
    if not found:
        return None
    power = np.asarray(np.stack(spectra) @ _cells().T, np.float64) / _window_power()
    noise = np.asarray(np.stack(strays) ** 2 @ _spreads().T, np.float64) ** 0.5 / _window_power()
    levels, xs, ys = (np.array(column, np.float64) for column in zip(*found, strict=True))
    return Fine(power[:, 1:], noise[:, 1:], power[:, 0], levels, xs, ys)


def _measure(
    tile: NDArray[np.uint16], raw: Raw, greens: list[int]
) -> tuple[NDArray[np.float32], NDArray[np.float32], float] | None:
    """(cross spectrum, what of it is noise alone, level) of one tile, None where it is too light or too dark."""
    planes = [tile[g // 2 :: 2, g % 2 :: 2].astype(np.float32) - np.float32(raw.black[g]) for g in greens]
    mean = float(planes[0].mean()) / (raw.white - raw.black[greens[0]])
    level = float(np.log2(max(mean, 1e-6)))
    if not _LEVELS[0] < level < _LEVELS[1]:
        return None
    first, second = (cv2.dft(_flattened(p), flags=cv2.DFT_COMPLEX_OUTPUT)[:, : TILE // 4] for p in planes)
    # The second green lies beside the first: undo the phase that its place gives.
    cosine, sine = _phase(greens[1] // 2 - greens[0] // 2, greens[1] % 2 - greens[0] % 2)
    real = first[:, :, 0] * second[:, :, 0] + first[:, :, 1] * second[:, :, 1]
    imaginary = first[:, :, 0] * second[:, :, 1] - first[:, :, 1] * second[:, :, 0]
    # Across the phase of the picture's own detail there is noise alone.
    spectrum = np.asarray(real * cosine + imaginary * sine, np.float32).ravel()
    return spectrum, np.asarray(imaginary * cosine - real * sine, np.float32).ravel(), level


@cache
def _phase(step_y: int, step_x: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Cosine and sine of the phase that a step between the greens (pixels) gives each frequency."""
    fy, fx, _, _ = _grid()
    phase = 2 * np.pi * (fy * step_y + fx * step_x)
    return np.cos(phase).astype(np.float32), np.sin(phase).astype(np.float32)


def _flattened(plane: NDArray[np.float32]) -> NDArray[np.float32]:
    """Light relative to its surroundings, less one, faded out towards the tile's rim."""
    around = np.maximum(cv2.blur(plane, (17, 17)), 1.0)
    relative = plane / around - 1.0
    return np.asarray((relative - relative.mean()) * _window(), np.float32)


@cache
def _window() -> NDArray[np.float32]:
    edge = np.hanning(TILE // 2)
    return np.asarray(edge[:, None] * edge[None, :], np.float32)


@cache
def _window_power() -> float:
    return float((_window() ** 2).sum())
