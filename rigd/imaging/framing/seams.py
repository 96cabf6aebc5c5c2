"""Straight steps right across a band of film: a picture's edges, whatever lies beyond them.

A gate's edge runs from one side of the picture to the other; hardly anything in a picture does. So edges show even
where pictures touch, where they overlap (a stripe that was exposed twice), and where the rebate is fogged."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

# A step compares bands so wide on either side of a line; a gate's own shadow is about a tenth of a millimetre.
_BAND_MM = 0.2
# Lines are averaged over so much of the band: noise goes, the step stays.
_ACROSS_MM = 0.5
# A line shows a step where it is at least this (stops), and so many times the line's own noise.
_STEP, _NOISES = 0.05, 4.0
# A seam shows on this share of all lines, and on so many times more than an ordinary place.
_SHOWN, _RARE = 0.6, 2.0
# No more lines than this are looked at: they tell no more.
_LINES = 240

Plane = NDArray[np.float32]


class Seam(Struct, frozen=True):
    """`at`: blocks along the band at its middle line (edges of blocks are whole numbers); `slope`: blocks along a block
    across; `shown`: share of lines; `rise`: how much lighter it is beyond (towards larger places) than before, in
    stops, the median of all lines."""

    at: float
    slope: float
    shown: float
    rise: float


def seams(band: Plane, mm: float, spacing: float = 1.0) -> list[Seam]:
    """The seams of a band laid straight: levels (lines across, blocks along) in stops, without the rims of the film;
    `mm` blocks a millimetre, `spacing` blocks from line to line."""
    wide = max(2, round(_BAND_MM * mm))
    if band.shape[1] < 4 * wide or band.shape[0] < 8:
        return []
    calm = cv2.blur(band, (1, max(1, round(_ACROSS_MM * mm / spacing))), borderType=cv2.BORDER_REPLICATE)
    kernel = np.concatenate([np.full(wide, -1 / wide), np.full(wide, 1 / wide)]).astype(np.float32)[None, :]
    # step[:, i] compares the blocks from i on with those before i.
    step = np.asarray(cv2.filter2D(calm, -1, kernel, anchor=(wide, 0), borderType=cv2.BORDER_REPLICATE), np.float32)
    size = np.abs(step)
    noise = 1.4826 * np.median(size[:, ::3], axis=1, keepdims=True)
    seen = size > np.maximum(_STEP, _NOISES * np.minimum(noise, _STEP)).astype(np.float32)
    crest = seen & (size >= cv2.dilate(size, np.ones((1, 2 * wide + 1), np.uint8)))
    shown = np.asarray(cv2.dilate(crest.astype(np.uint8), np.ones((1, 3), np.uint8)).mean(axis=0), np.float64)
    return _crests(step, crest, shown, wide, spacing)


def _crests(step: Plane, crest: NDArray[np.bool_], shown: NDArray[np.float64], wide: int, spacing: float) -> list[Seam]:
    least = max(_SHOWN, _RARE * float(np.median(shown)))
    found: list[Seam] = []
    for i in np.argsort(-shown):
        if shown[i] < least:
            break
        if 2 <= i < shown.size - 2 and all(abs(i - s.at) > wide for s in found):
            found.append(_refined(step, crest, int(i), float(shown[i]), spacing))
    return sorted(found, key=lambda s: s.at)


def _refined(step: Plane, crest: NDArray[np.bool_], i: int, shown: float, spacing: float) -> Seam:
    """To a part of a block: where the lines have their crests, by parabolas through them, and a straight line."""
    near = slice(max(1, i - 2), min(step.shape[1] - 1, i + 3))
    rows, at = np.nonzero(crest[:, near])
    at = at + near.start
    before, here, after = (np.abs(step[rows, at + k]) for k in (-1, 0, 1))
    bend = np.maximum(2 * here - before - after, 1e-9)
    places = at + np.clip((after - before) / (2 * bend), -0.5, 0.5)
    lines = (rows - (step.shape[0] - 1) / 2) * spacing
    slope, place = np.polyfit(lines, places, 1)
    off = places - place - slope * lines
    good = np.abs(off) < max(0.2, 2 * 1.4826 * float(np.median(np.abs(off))))
    if good.sum() > 8 and np.ptp(lines[good]) > 0.5 * np.ptp(lines):
        slope, place = np.polyfit(lines[good], places[good], 1)
    return Seam(float(place), float(slope), shown, float(np.median(step[:, i])))


def lay(plane: Plane, turn: float, span: tuple[float, float], lines: int, border: float) -> Plane:
    """A band right across a plane (h, w), laid straight: (lines, w). `turn`: its direction's slope (clockwise
    positive); `span`: its first and last line, in a frame turned about the plane's middle. Out of sight: `border`."""
    height, width = plane.shape
    stretch = np.float32(1 / np.hypot(1.0, turn))
    u = (np.arange(width, dtype=np.float32)[None, :] - (width - 1) / 2) * stretch
    v = (np.linspace(*span, lines, dtype=np.float32)[:, None] - height / 2) * stretch
    x, y = u - np.float32(turn) * v + (width - 1) / 2, v + np.float32(turn) * u + (height - 1) / 2
    how = {"borderMode": cv2.BORDER_CONSTANT, "borderValue": border}
    laid = cv2.remap(plane, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, **how)  # type: ignore[call-overload]
    return np.asarray(laid, np.float32)


def lines_of(span: tuple[float, float]) -> int:
    """How many lines a band is laid in."""
    return int(min(_LINES, max(8, round(span[1] - span[0]))))
