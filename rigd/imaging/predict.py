"""Levels of a live picture: cheap, coarse, and never a verdict. What they foretell stands in `forecast`."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.errors import RawUnreadable

# Live pictures are JPEGs of eight bits: codes at the ends say only "this light or more", "this dark or less".
_LIGHTEST, _DARKEST = 250, 4
# A picture of this width tells the points of the histogram as well as a larger one.
_WIDTH = 320

Box = tuple[int, int, int, int]
RGB = NDArray[np.uint8]


class LiveLevel(Struct, frozen=True):
    """Levels in stops under the live picture's white, of the channel whose light end is lightest: `dark` and `light`
    the 0.5 and 99.5 % points, `centre` their middle. `lost_pct`: share of pixels at the ends of the scale; where it
    is large the levels are bounds. `over_pct`: share at the upper end alone. `top`: the 99.9 % point of the channel
    where it is lightest: what the ceiling is about. `base`: the median of what lies beside the picture, which on a
    negative is its base; None where nobody looked."""

    dark: float
    light: float
    centre: float
    lost_pct: float
    over_pct: float = 0.0
    top: float = 0.0
    base: float | None = None


def live_rgb(jpeg: bytes, along_x: bool = True) -> tuple[RGB, int]:
    """A live JPEG at half its size (decoded so, which is quicker), turned so that the film runs along x, as (h, w, 3),
    and by how much it is smaller: 2.

    Raises:
        RawUnreadable: it is no picture.
    """
    data = np.frombuffer(jpeg, np.uint8)
    found = cv2.imdecode(data, cv2.IMREAD_REDUCED_COLOR_2) if data.size else None
    if found is None:
        raise RawUnreadable("A live picture could not be decoded.", "It is no JPEG.", "Look at the camera's screen.")
    rgb = np.asarray(found, np.uint8)
    return (rgb if along_x else np.ascontiguousarray(rgb.transpose(1, 0, 2))), 2


def live_level(rgb: RGB, box: Box | None = None, beside: Sequence[Box] = ()) -> LiveLevel:
    """Measure a live picture (h, w, 3) of sRGB bytes, channels in any order, or a box (left, top, right, bottom) of it.
    `beside`: boxes of film beside the picture; the lightest of them counts, the other may be the next picture.

    The camera's own tone curve lies between this and the raw: compare two live pictures, or calibrate with a take."""
    counts = _counts(rgb, box)
    lights = [_code_at(c, 0.995) for c in counts]
    lead = int(np.argmax(lights))
    dark, light = _stops(_code_at(counts[lead], 0.005)), _stops(lights[lead])
    total = float(counts[lead].sum())
    over = float(counts[lead][_LIGHTEST + 1 :].sum()) / total
    under = float(counts[lead][:_DARKEST].sum()) / total
    bases = [_code_at(_counts(rgb, one)[lead], 0.5) for one in beside]
    top = _stops(max(_code_at(c, 0.999) for c in counts))
    base = _stops(max(bases)) if bases else None
    return LiveLevel(dark, light, (dark + light) / 2, 100 * (over + under), 100 * over, top, base)


def _counts(rgb: RGB, box: Box | None) -> list[NDArray[np.int64]]:
    """How many pixels have each code, by channel."""
    cut = rgb if box is None else rgb[max(0, box[1]) : box[3], max(0, box[0]) : box[2]]
    if cut.size == 0:
        raise ValueError("the box lies outside the live picture")
    step = -(-cut.shape[1] // _WIDTH)
    small = np.ascontiguousarray(cut[::step, ::step])
    return [np.bincount(small[:, :, c].ravel(), minlength=256) for c in range(3)]


def _code_at(counts: NDArray[np.int64], share: float) -> int:
    running = np.cumsum(counts)
    return int(np.searchsorted(running, share * running[-1]))


def _stops(code: int) -> float:
    """log2 of the linear light of an sRGB code (IEC 61966-2-1); code 0 counts as half of code 1."""
    value = max(code, 0.5) / 255
    linear = value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
    return float(np.log2(linear))
