"""A whole take at full size, in tiles: to look it through pixel by pixel without sending or holding it in one piece."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.detail import demosaiced
from rigd.imaging.levels import stops_of
from rigd.imaging.planes import reduce
from rigd.imaging.preview import RGB8, encode_jpeg
from rigd.imaging.raw import Raw

TILE_PX = 1024
_FLOOR = 2.0**-12
# As in a piece: specks and pinholes must not set the tones, and an even sky must not show as a storm of grain.
_ENDS, _LEAST = (0.2, 99.8), 1.5
# So much of the sensor is kept beyond the picture's own corners, to see its edge.
_BEYOND = 0.01
# Interpolated colours need their neighbours: of so many pixels on each side.
_MARGIN = 4

Ends = tuple[NDArray[np.float32], NDArray[np.float32]]


class Tiles(Struct, frozen=True):
    """JPEGs of `size` pixels square (less at the right and the bottom), row by row; `width` and `height`: the whole."""

    width: int
    height: int
    size: int
    rows: tuple[tuple[bytes, ...], ...]


def tiled(raw: Raw, corners: Sequence[tuple[float, float]], inverted: bool, grey: bool) -> Tiles:
    """The picture of a take, one pixel a pixel, as sRGB JPEGs: tones of log exposure spread over the display, turned
    round if `inverted`. For the eye only. Blocking: about three seconds at 60 MP.

    Args:
        corners: the picture's, as shares of the sensor; where there are not four, the whole sensor.
    """
    left, top, right, bottom = _box(raw, corners)
    ends = _tones(raw, (left, top, right, bottom), grey)
    rows = [
        tuple(
            encode_jpeg(_tile(raw, (x, y, min(x + TILE_PX, right), min(y + TILE_PX, bottom)), ends, inverted, grey), 88)
            for x in range(left, right, TILE_PX)
        )
        for y in range(top, bottom, TILE_PX)
    ]
    return Tiles(right - left, bottom - top, TILE_PX, tuple(rows))


def _box(raw: Raw, corners: Sequence[tuple[float, float]]) -> tuple[int, int, int, int]:
    """Even pixels around the picture."""
    height, width = raw.mosaic.shape
    if len(corners) != 4:
        return 0, 0, width - width % 2, height - height % 2
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    sides = (min(xs) - _BEYOND, min(ys) - _BEYOND, max(xs) + _BEYOND, max(ys) + _BEYOND)
    left, top, right, bottom = (
        round(min(1.0, max(0.0, share)) * whole / 2) * 2
        for share, whole in zip(sides, (width, height, width, height), strict=True)
    )
    return left, top, min(right, width - width % 2), min(bottom, height - height % 2)


def _tones(raw: Raw, box: tuple[int, int, int, int], grey: bool) -> Ends:
    """The darkest and the lightest tone of each channel, in stops, inside the box."""
    small = reduce(raw, 1200)
    left, top, right, bottom = (side // small.step for side in box)
    levels = stops_of(small.linear[top : bottom + 1, left : right + 1], _FLOOR).reshape(-1, 3)
    if grey:
        levels = np.repeat(levels[:, 1:2], 3, axis=1)
    low, high = (np.percentile(levels, end, axis=0) for end in _ENDS)
    return np.asarray(low, np.float32), np.asarray(high, np.float32)


def _tile(raw: Raw, box: tuple[int, int, int, int], ends: Ends, inverted: bool, grey: bool) -> RGB8:
    left, top, right, bottom = box
    height, width = raw.mosaic.shape
    around = (
        max(0, left - _MARGIN), max(0, top - _MARGIN), min(width - width % 2, right + _MARGIN),
        min(height - height % 2, bottom + _MARGIN),
    )  # fmt: skip
    linear = demosaiced(raw, around)[top - around[1] :, left - around[0] :][: bottom - top, : right - left]
    levels = stops_of(linear, _FLOOR)
    if grey:
        levels = np.repeat(levels[:, :, 1:2], 3, axis=2)
    low, high = ends
    share = np.clip((levels - low) / np.maximum(high - low, _LEAST), 0.0, 1.0)
    return np.asarray(np.rint(255 * (1.0 - share if inverted else share)), np.uint8)
