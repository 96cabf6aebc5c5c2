"""Tiles of noise, made once and laid at many offsets: drawing fresh noise for every picture would take seconds."""

from __future__ import annotations

import cv2
import numpy as np

from rigd_sim.scene.planes import Light, resized

_WIDEST = 4.0
"""Clouds reach this many times their height to the side; beyond they are mirrored."""


def gaussian_tile(seed: int, height: int, width: int) -> Light:
    """White Gaussian noise, mean 0, standard deviation 1, (height, width) float32."""
    return np.random.default_rng([seed, 11]).standard_normal((height, width), dtype=np.float32)


def grain_tile(seed: int, size: int, clump_px: float) -> Light:
    """Film grain, mean 0, standard deviation 1, periodic, (size, size) float32; `clump_px` is a clump's sigma in px."""
    white = np.random.default_rng([seed, 12]).standard_normal((size, size), dtype=np.float32)
    if clump_px < 0.2:
        return white
    pad = 16
    wrapped = cv2.copyMakeBorder(white, pad, pad, pad, pad, cv2.BORDER_WRAP)
    soft = cv2.GaussianBlur(wrapped, (0, 0), clump_px)[pad:-pad, pad:-pad]
    return np.asarray((soft - soft.mean()) / soft.std(), dtype=np.float32)


def tiled(tile: Light, height: int, width: int, row: int = 0, column: int = 0) -> Light:
    """The periodic tile repeated over (height, width), beginning at (row, column) of it."""
    rows, columns = tile.shape
    begun = np.roll(tile, (-(row % rows), -(column % columns)), axis=(0, 1))
    return np.tile(begun, (-(-height // rows), -(-width // columns)))[:height, :width]


def fractal_tile(seed: int, size: int, slope: float = 1.6, stretch: float = 1.0) -> Light:
    """Periodic fractal noise (amplitude falls as frequency^-slope), mean 0, standard deviation 1, (size, size) float32.

    `stretch` draws it out along x.
    """
    spectrum = np.fft.rfft2(np.random.default_rng([seed, 13]).standard_normal((size, size)))
    across, along = np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :] * stretch
    radius = np.hypot(across, along)
    radius[0, 0] = 1.0
    spectrum *= radius**-slope
    spectrum[0, 0] = 0.0
    field = np.fft.irfft2(spectrum, s=(size, size))
    return np.asarray(field / field.std(), dtype=np.float32)


def cloud(rng: np.random.Generator, height: int, width: int, cells: float, octaves: int, stretch: float = 1.0) -> Light:
    """Smooth fractal noise, about -1..1, (height, width) float32.

    `cells` is how many lumps of the coarsest octave lie over the height; each octave has twice as many and half the
    weight. `stretch` draws the lumps out sideways. The same generator state gives the same clouds at any size, and
    the generator is left in the same state.
    """
    own = np.random.default_rng(rng.integers(2**62))
    rows, columns = max(height // 2, 2), max(width // 2, 2)
    work = np.zeros((rows, columns), np.float32)
    weight = 0.6
    for _ in range(octaves):
        # Lattice points a px, down and across; wide enough for any picture, since a panorama is 3:1.
        down, across = cells / rows, cells / rows / stretch
        lattice = own.uniform(-1.0, 1.0, (int(cells) + 3, int(cells * _WIDEST) + 3)).astype(np.float32)
        matrix = np.array([[across, 0.0, across / 2], [0.0, down, down / 2]])
        how = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
        layer = cv2.warpAffine(lattice, matrix, (columns, rows), flags=how, borderMode=cv2.BORDER_REFLECT)
        work += np.float32(weight) * layer
        cells, weight = cells * 2.0, weight * 0.55
    return resized(work, width, height)
