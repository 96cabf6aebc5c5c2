"""The sensor: light to numbers, with shot noise, read noise, black level and clipping.

A field holds the light of every pixel as a code, the square root of its flux: sqrt makes shot noise even, so 16 bits
hold a range of 10^9 without a step that shows. With s = sqrt(electrons) and Gaussian noises n1, n2 of unit width

    electrons = s (s + n1) + r n2

has the mean s^2, the variance s^2 + r^2 of shot and read noise.
"""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np

from rigd_sim.scene.noise import gaussian_tile
from rigd_sim.scene.planes import Light, Words

BLACK = 512
WHITE = 16383
"""14 bits; black level well above zero, so that read noise is not cut off."""
FULL_WELL = 50_000.0
"""Electrons at white, ISO 100: usual for a full-frame sensor."""
READ_NOISE = 3.0
"""Electrons rms."""
CFA = (0.58, 1.0, 0.74)
"""Red, green, blue sensitivity under the lamp, relative to green (RGGB)."""

REFERENCE_SECONDS, REFERENCE_F_NUMBER, REFERENCE_ISO = 1 / 30, 8.0, 100
REFERENCE_FILL = 1.45
"""The bare lamp at the reference exposure fills green to 1.45 x white, so film (half of it at best) is about right."""
FLUX_TOP = 1.6
"""Flux of the highest code, relative to the bare lamp's middle."""
CODE_TOP = 65535.0
BLOCK_ROWS = 128
"""Rows handled at a time: small enough to stay in the cache."""


@dataclass(frozen=True)
class Exposure:
    """What the camera was set to, the lamp's mean level over it, and what else adds light.

    `bands` is each row's light relative to the mean, (H,) float32, where a slit shutter meets a rippling lamp; `room`
    the light of the room that film and holder throw back, as a share of the bare lamp at level 1.
    """

    seconds: float
    f_number: float
    iso: int
    light: float = 1.0
    bands: Light | None = None
    room: float = 0.0

    @property
    def reach(self) -> float:
        """Electrons that a flux of 1.0 leaves in a green pixel, were the well endless."""
        light = (self.seconds / REFERENCE_SECONDS) * (REFERENCE_F_NUMBER / self.f_number) ** 2
        return FULL_WELL * REFERENCE_FILL * light

    @property
    def electrons(self) -> float:
        """Electrons that the bare lamp's middle leaves in a green pixel."""
        return self.reach * self.light

    @property
    def gain(self) -> float:
        """Raw numbers for one electron."""
        return (WHITE - BLACK) / FULL_WELL * self.iso / REFERENCE_ISO


def encode_flux(flux: Light) -> Words:
    """Codes of a flux (bare lamp = 1.0, never negative), same shape."""
    root = cv2.sqrt(flux)
    scale = CODE_TOP / math.sqrt(FLUX_TOP)
    return cast(Words, cv2.addWeighted(root, scale, root, 0.0, 0.0, dtype=cv2.CV_16U))


def decode_flux(codes: Words, exposure: Exposure) -> Light:
    """Share of saturation that codes (H, W) uint16 leave in that exposure, without noise and without an end."""
    root = codes.astype(np.float32) * np.float32(math.sqrt(FLUX_TOP) / CODE_TOP)
    full = FULL_WELL * REFERENCE_ISO / exposure.iso
    return cast(Light, np.square(root) * np.float32(exposure.electrons / full))


class Sensor:
    """Reads fields out. One instance a scene; `expose` may be called from one thread at a time."""

    _SLACK = (61, 509)  # offsets (primes) at which the noise tile may be laid

    def __init__(self, width: int, height: int, seed: int, pool: Executor) -> None:
        self._shape = (height, width)
        self._seed = seed
        self._pool = pool
        self._tile = gaussian_tile(seed, BLOCK_ROWS + self._SLACK[0], width + self._SLACK[1])
        self._count = 0

    def expose(self, field: Words, exposure: Exposure) -> Words:
        """The mosaic (H, W) uint16, BLACK..WHITE, of a field of codes (H, W) uint16."""
        self._count += 1
        rng = np.random.default_rng([self._seed, 31, self._count])
        out = np.empty(self._shape, np.uint16)
        starts = range(0, self._shape[0], BLOCK_ROWS)
        offsets = rng.integers(0, [*self._SLACK, *self._SLACK], (len(starts), 4)).tolist()
        jobs = zip(starts, offsets, strict=True)
        for job in [self._pool.submit(self._block, field, out, row, exposure, at) for row, at in jobs]:
            job.result()
        return out

    def _block(self, field: Words, out: Words, row: int, exposure: Exposure, offset: list[int]) -> None:
        """One band of rows: mean and noise, scaled to raw numbers, rounded and clipped."""
        codes = field[row : row + BLOCK_ROWS]
        rows, columns = codes.shape
        shot, read = (self._tile[r : r + rows, c : c + columns] for r, c in (offset[:2], offset[2:]))
        root_gain = math.sqrt(exposure.gain)
        scale = math.sqrt(exposure.electrons * FLUX_TOP) * root_gain / CODE_TOP
        root = cv2.addWeighted(codes, scale, codes, 0.0, 0.0, dtype=cv2.CV_32F)
        if exposure.bands is not None:
            root *= np.sqrt(exposure.bands[row : row + rows, None])
        noisy = cv2.scaleAdd(shot, root_gain, root)
        cv2.multiply(root, noisy, dst=noisy)
        floor = BLACK + exposure.room * exposure.reach * exposure.gain
        band = cv2.addWeighted(noisy, 1.0, read, READ_NOISE * exposure.gain, floor, dtype=cv2.CV_16U)
        np.minimum(band, np.uint16(WHITE), out=out[row : row + rows])
