"""The taking camera: pictures onto film, as planes of exposure codes (0 = no light at all)."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.scene.curve import CODES, LOG_STEP, MID_CODE
from rigd_sim.scene.pictures import draw_picture
from rigd_sim.scene.planes import SUB_PIXEL, Bytes, softened
from rigd_sim.scene.roll import Frame, Strip

if TYPE_CHECKING:
    from rigd_sim.scene.film import FilmMaker

LENS_BLUR_MM = 0.009
"""Sigma of the taking lens's own blur on film: half contrast at about 20 line pairs a mm, an ordinary lens."""
_EDGE_MM = 0.10
"""Width of the soft edge that a gate a little off the film throws."""
_CORNER_MM = 0.35


def expose_cell(maker: FilmMaker, strip: Strip, frame: Frame, left: int, width: int) -> tuple[Bytes, ...]:
    """Exposure codes of one cell, a (H, W) plane a layer: its frame, and what overlapping neighbours bring into it."""
    layers = len(maker.stock.layers)
    cell = np.zeros((maker.rows, width, layers), np.uint8)
    filled = 0  # columns up to here hold a picture already
    for other in strip.frames:
        begin, end = maker.column(other.start) - left, maker.column(other.end) - left
        if other.exposed and begin < width and end > 0:
            _add(cell, _picture(maker, other, end - begin), begin, filled)
            filled = max(filled, end)
    return cast(tuple[Bytes, ...], cv2.split(cell))


def _picture(maker: FilmMaker, frame: Frame, width: int) -> Bytes:
    """One picture as its frame took it up: (h, w, layers), with the gate's soft edges and round corners."""
    height, layers = round(frame.height * maker.scale), len(maker.stock.layers)
    if frame.spec.picture is None:
        codes = draw_picture(maker.spec.seed, frame.number, height, width, layers)
    else:
        codes = encode_luminance(frame.spec.picture, height, width, layers)
    codes = softened(codes, LENS_BLUR_MM * maker.scale).reshape(height, width, layers)
    _gate(codes, maker.scale, frame, maker.spec.seed)
    return codes


def encode_luminance(picture: NDArray[np.floating], height: int, width: int, layers: int) -> Bytes:
    """Codes (h, w, layers) of scene luminance (h, w) or (h, w, 3), 0..1: 0.18 is a mid-tone. Stretched to the size.

    Raises ValueError for another shape.
    """
    if picture.ndim not in (2, 3) or (picture.ndim == 3 and picture.shape[2] != 3):
        raise ValueError(f"a picture is (h, w) or (h, w, 3), not {picture.shape}")
    light = picture.astype(np.float32)
    if light.ndim == 3 and layers == 1:
        light = light.mean(axis=2)
    how = cv2.INTER_AREA if light.shape[0] > height else cv2.INTER_LINEAR
    sized = cv2.resize(light, (width, height), interpolation=how)
    log = np.log10(np.maximum(sized, 1e-4) / 0.18) / LOG_STEP + MID_CODE
    dither = np.random.default_rng(52).uniform(-0.5, 0.5, sized.shape[:2])  # smooth ramps stay smooth
    log += dither if log.ndim == 2 else dither[:, :, None]
    codes = np.clip(np.rint(log), 1, CODES - 1).astype(np.uint8)
    return codes if codes.ndim == 3 else np.repeat(codes[:, :, None], layers, axis=2)


def _gate(codes: Bytes, scale: float, frame: Frame, seed: int) -> None:
    """Soft edges, round corners, and a hair if there is one."""
    height, width = codes.shape[:2]
    for n in range(max(1, round(_EDGE_MM * scale))):
        loss = round(60 * (1 - n / max(1.0, _EDGE_MM * scale)) ** 2)
        for line in (codes[n], codes[height - 1 - n], codes[:, n], codes[:, width - 1 - n]):
            line[:] = np.maximum(line, loss + 1) - loss
    radius = max(1, round(_CORNER_MM * scale))
    corner = np.hypot(*np.mgrid[radius:0:-1, radius:0:-1]) > radius
    for part in (
        codes[:radius, :radius],
        codes[:radius, : -radius - 1 : -1],
        codes[: -radius - 1 : -1, :radius],
        codes[: -radius - 1 : -1, : -radius - 1 : -1],
    ):
        part[corner] = 0
    if frame.spec.hair > 0:
        _hair(codes, scale, frame.spec.hair, np.random.default_rng([seed, 51, frame.number]))


def _hair(codes: Bytes, scale: float, length_mm: float, rng: np.random.Generator) -> None:
    """A hair that reaches into the gate from its lower edge: no light falls under it."""
    steps = np.linspace(0.0, 1.0, 30)
    bend = rng.uniform(-0.5, 0.5)
    x = codes.shape[1] * rng.uniform(0.2, 0.8) + length_mm * scale * (0.3 * steps + bend * steps**2)
    y = codes.shape[0] - length_mm * scale * steps * rng.uniform(0.6, 0.95)
    points = np.round(np.stack([x, y], 1) * (1 << SUB_PIXEL)).astype(np.int32)
    cv2.polylines(codes, [points], False, (0,) * codes.shape[2], max(1, round(0.05 * scale)), cv2.LINE_AA, SUB_PIXEL)


def _add(cell: Bytes, picture: Bytes, begin: int, filled: int) -> None:
    """Lays a picture into the cell at column `begin`; up to column `filled` light fell already: exposures add up."""
    top = (cell.shape[0] - picture.shape[0]) // 2
    source = picture[max(0, -top) : max(0, -top) + cell.shape[0], max(0, -begin) : cell.shape[1] - begin]
    there = cell[max(0, top) : max(0, top) + source.shape[0], max(0, begin) : max(0, begin) + source.shape[1]]
    twice = min(max(0, filled - max(0, begin)), source.shape[1])
    there[:, :twice] = _sum_codes(there[:, :twice], source[:, :twice])
    there[:, twice:] = source[:, twice:]


def _sum_codes(a: Bytes, b: Bytes) -> Bytes:
    """Codes of the sum of two exposures."""
    light = np.power(10.0, a * np.float32(LOG_STEP)) * (a > 0) + np.power(10.0, b * np.float32(LOG_STEP)) * (b > 0)
    codes = np.log10(np.maximum(light, 1.0)) / LOG_STEP
    return cast(Bytes, np.clip(np.rint(codes), 0, CODES - 1).astype(np.uint8))
