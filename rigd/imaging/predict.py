"""A guess of the next exposure from the live picture: cheap, coarse, and never a verdict."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

# Live pictures are JPEGs of eight bits: codes at the ends say only "this light or more", "this dark or less".
_LIGHTEST, _DARKEST = 250, 4
# A picture of this width tells the points of the histogram as well as a larger one.
_WIDTH = 320


class LiveLevel(Struct, frozen=True):
    """Levels in stops under the live picture's white, of the channel whose light end is lightest: `dark` and `light`
    the 0.5 and 99.5 % points, `centre` their middle. `lost_pct`: share of pixels at the ends of the scale; where it
    is large the levels are bounds."""

    dark: float
    light: float
    centre: float
    lost_pct: float


def live_level(rgb: NDArray[np.uint8], box: tuple[int, int, int, int] | None = None) -> LiveLevel:
    """Measure a live picture (h, w, 3) of sRGB bytes, or a box (left, top, right, bottom) of it.

    The camera's own tone curve lies between this and the raw: compare two live pictures, or calibrate with a take."""
    cut = rgb if box is None else rgb[box[1] : box[3], box[0] : box[2]]
    if cut.size == 0:
        raise ValueError("the box lies outside the live picture")
    if cut.shape[1] > _WIDTH:
        size = (_WIDTH, max(1, round(cut.shape[0] * _WIDTH / cut.shape[1])))
        cut = np.asarray(cv2.resize(cut, size, interpolation=cv2.INTER_NEAREST), np.uint8)
    counts = [np.bincount(cut[:, :, c].ravel(), minlength=256) for c in range(3)]
    lights = [_code_at(c, 0.995) for c in counts]
    lead = int(np.argmax(lights))
    dark, light = _stops(_code_at(counts[lead], 0.005)), _stops(lights[lead])
    lost = counts[lead][:_DARKEST].sum() + counts[lead][_LIGHTEST + 1 :].sum()
    return LiveLevel(dark, light, (dark + light) / 2, 100.0 * float(lost) / float(counts[lead].sum()))


def _code_at(counts: NDArray[np.intp], share: float) -> int:
    running = np.cumsum(counts)
    return int(np.searchsorted(running, share * running[-1]))


def _stops(code: int) -> float:
    """log2 of the linear light of an sRGB code (IEC 61966-2-1); code 0 counts as half of code 1."""
    value = max(code, 0.5) / 255
    linear = value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
    return float(np.log2(linear))
