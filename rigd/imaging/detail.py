"""A look at single pixels: pieces of a take at full size, to see whether grain and edges are sharp."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.levels import stops_of
from rigd.imaging.planes import even_box
from rigd.imaging.preview import RGB8
from rigd.imaging.raw import Raw

# OpenCV's codes by the channels at the four places of a cell.
_CODES = {
    (0, 1, 1, 2): cv2.COLOR_BayerRGGB2RGB, (1, 0, 2, 1): cv2.COLOR_BayerGRBG2RGB,
    (1, 2, 0, 1): cv2.COLOR_BayerGBRG2RGB, (2, 1, 1, 0): cv2.COLOR_BayerBGGR2RGB,
}  # fmt: skip
_FLOOR = 2.0**-12
# Ends of the tones that are shown: specks and pinholes in so small a piece would else set them.
_ENDS = (0.5, 99.5)
# The least range that is spread over the display, in stops: less would show an even sky as a storm of grain.
_LEAST = 1.5
_SIZE = (960, 640)

SPOTS = ("middle", "top-left", "top-right", "bottom-right", "bottom-left")


def spot_of(corners: Sequence[tuple[float, float]], spot: str) -> tuple[float, float]:
    """The middle of a piece as shares of the sensor's width and height, a tenth of the picture inside its corner.

    Args:
        corners: the picture's, as shares, clockwise from the top left; none: the whole sensor.
        spot: one of SPOTS.
    """
    found = np.asarray(corners if len(corners) == 4 else [(0, 0), (1, 0), (1, 1), (0, 1)], float)
    middle = found.mean(axis=0)
    if spot == "middle":
        return float(middle[0]), float(middle[1])
    x, y = found[SPOTS.index(spot) - 1] + 0.2 * (middle - found[SPOTS.index(spot) - 1])
    return float(x), float(y)


def detail(raw: Raw, at: tuple[float, float], inverted: bool, grey: bool, size: tuple[int, int] = _SIZE) -> RGB8:
    """A piece of `size` (width, height) sensor pixels around `at` (shares of width and height), one pixel a pixel, as
    sRGB bytes (h, w, 3): tones of log exposure spread over the display, turned round if `inverted`. For the eye only;
    moved inwards where it would leave the sensor."""
    linear = demosaiced(raw, _around(raw, at, size))
    levels = stops_of(linear, _FLOOR)
    if grey:
        levels = np.repeat(levels[:, :, 1:2], 3, axis=2)
    low, high = (np.percentile(levels.reshape(-1, 3), end, axis=0) for end in _ENDS)
    share = np.clip((levels - low) / np.maximum(high - low, _LEAST), 0.0, 1.0)
    return np.asarray(np.rint(255 * (1.0 - share if inverted else share)), np.uint8)


def _around(raw: Raw, at: tuple[float, float], size: tuple[int, int]) -> tuple[int, int, int, int]:
    height, width = raw.mosaic.shape
    wide, high = min(size[0], width), min(size[1], height)
    left = min(max(0, round(at[0] * width - wide / 2)), width - wide)
    top = min(max(0, round(at[1] * height - high / 2)), height - high)
    return even_box((left - left % 2, top - top % 2, left + wide, top + high), raw)


def demosaiced(raw: Raw, box: tuple[int, int, int, int]) -> NDArray[np.float32]:
    """Shares of saturation (h, w, 3) of a box of whole cells, missing colours interpolated from their neighbours."""
    left, top, right, bottom = box
    mosaic = raw.mosaic[top:bottom, left:right].astype(np.float32)
    for place, black in enumerate(raw.black):
        plane = mosaic[place // 2 :: 2, place % 2 :: 2]
        plane[:] = (plane - black) / (raw.white - black)
    if raw.mono:
        return np.repeat(mosaic[:, :, None], 3, axis=2)
    sixteen = np.asarray(np.clip(mosaic, 0.0, 1.0) * 65535, np.uint16)
    return np.asarray(cv2.cvtColor(sixteen, _CODES[raw.pattern]), np.float32) / np.float32(65535)
