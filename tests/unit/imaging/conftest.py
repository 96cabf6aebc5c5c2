"""Material for the imaging tests: raws made of arrays, and files of sensors that the simulator does not have."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray

from rigd.imaging import Raw

BLACK, WHITE = 512.0, 16383.0


def raw_of(mosaic: NDArray[np.uint16], mono: bool = False, seconds: float = 1 / 60) -> Raw:
    """A decoded raw of these values, as `open_raw` would give it."""
    pattern = (1, 1, 1, 1) if mono else (0, 1, 1, 2)
    return Raw(mosaic, pattern, (BLACK,) * 4, WHITE, mono, seconds, 8.0, 100.0, None)


def raw_of_levels(levels: NDArray[np.float64], noise: float = 0.0, seed: int = 0, seconds: float = 1 / 60) -> Raw:
    """A raw whose pixels have these levels in stops (H, W), clipped at saturation, with noise in raw units."""
    signal = BLACK + np.exp2(levels) * (WHITE - BLACK)
    signal = signal + np.random.default_rng(seed).normal(0, noise, levels.shape) if noise else signal
    return raw_of(np.clip(np.rint(signal), 0, WHITE).astype(np.uint16), seconds=seconds)


@pytest.fixture
def make_raw() -> Callable[..., Raw]:
    return raw_of


@pytest.fixture
def make_levels() -> Callable[..., Raw]:
    return raw_of_levels


def write_dng(
    path: Path, mosaic: NDArray[np.uint16], pattern: tuple[int, ...] = (0, 1, 1, 2), mono: bool = False
) -> Path:
    """A bare DNG written with an independent library: one directory, 512 black, 16383 white, 1/60 s, f/8."""
    unit = tuple(x for i in range(9) for x in ((1, 1) if i % 4 == 0 else (0, 1)))
    tags = [(50706, "B", 4, bytes([1, 4, 0, 0]), True), (50708, "s", 0, "Plain", True)]
    tags += [(50714, "H", 1, 512, True), (50717, "H", 1, 16383, True)]
    tags += [(33434, "2I", 1, (1, 60), True), (33437, "2I", 1, (8, 1), True)]
    if not mono:
        side = int(len(pattern) ** 0.5)
        tags += [(33421, "H", 2, (side, side), True), (33422, "B", len(pattern), bytes(pattern), True)]
        tags += [(50721, "2i", 9, unit, True), (50728, "2I", 3, (1, 1) * 3, True)]
    tifffile.imwrite(path, mosaic, photometric=1 if mono else 32803, extratags=tags, metadata=None)
    if mono:
        with tifffile.TiffFile(path, mode="r+b") as file:
            file.pages[0].tags[262].overwrite(34892)
    return path


@pytest.fixture
def plain_dng() -> Callable[..., Path]:
    return write_dng
