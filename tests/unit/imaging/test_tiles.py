"""A whole take in tiles. Source of the pixels: the piece of `detail`, whose demosaic is checked against LibRaw's."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from rigd.imaging.detail import demosaiced
from rigd.imaging.raw import Raw
from rigd.imaging.tiles import TILE_PX, Tiles, tiled


def raw_of(width: int, height: int, pattern: tuple[int, int, int, int] = (0, 1, 1, 2)) -> Raw:
    """Smooth light with edges that fall across the seams of tiles."""
    y, x = np.mgrid[0:height, 0:width]
    mosaic = (600 + 2800 * (0.5 + 0.5 * np.sin(x / 37) * np.cos(y / 53))).astype(np.uint16)
    mosaic[:, TILE_PX - 3 : TILE_PX + 3] = 900
    return Raw(mosaic, pattern, (64.0,) * 4, 4095.0, len(set(pattern)) == 1, 0.1, 8.0, 100.0, None)


def together(found: Tiles) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    rows = [np.hstack([cv2.imdecode(np.frombuffer(one, np.uint8), 1) for one in row]) for row in found.rows]
    return np.asarray(np.vstack(rows)[:, :, ::-1], np.uint8)


@pytest.mark.parametrize("size", [(2400, 1500), (1024, 1024), (1026, 700), (3001, 1101)])
def test_tiles_cover_the_whole_sensor_once(size: tuple[int, int]) -> None:
    found = tiled(raw_of(*size), (), inverted=False, grey=True)
    assert (found.width, found.height) == (size[0] - size[0] % 2, size[1] - size[1] % 2)
    assert together(found).shape == (found.height, found.width, 3)


def test_there_is_no_seam_and_tones_are_those_of_the_whole() -> None:
    raw = raw_of(2400, 1500)
    seen = together(tiled(raw, (), inverted=False, grey=True)).astype(float)[:, :, 1]
    green = demosaiced(raw, (0, 0, 2400, 1500))[:, :, 1]
    levels = np.log2(green)
    # One straight line from level to display over all tiles: what is left is JPEG's own noise.
    slope, offset = np.polyfit(levels.ravel()[::97], seen.ravel()[::97], 1)
    assert slope > 0
    error = np.abs(np.clip(slope * levels + offset, 0, 255) - seen)
    assert np.percentile(error, 99) < 12
    seam = error[:, TILE_PX - 8 : TILE_PX + 8]
    assert seam.mean() < error.mean() + 3


def test_only_the_picture_is_cut_out_and_a_negative_is_turned_round() -> None:
    raw = raw_of(2400, 1600)
    corners = ((0.25, 0.25), (0.75, 0.25), (0.75, 0.75), (0.25, 0.75))
    lies, turned = (together(tiled(raw, corners, inverted, grey=True)).astype(int) for inverted in (False, True))
    assert lies.shape == (0.52 * 1600, 0.52 * 2400, 3)
    assert np.abs(lies + turned - 255).mean() < 4
