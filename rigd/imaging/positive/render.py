"""A mosaic as a finished picture: demosaic, density, tone, colour space; table by table, 16 bits throughout."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.levels import Three
from rigd.imaging.positive.balance import Balance
from rigd.imaging.positive.curve import Paper, density, log_exposure, print_share
from rigd.imaging.positive.mosaic import TOP, Words
from rigd.imaging.transfer import encoded
from rigd.model.words import Colour, Tone

# By our four places of the cell (0 red, 1 green, 2 blue).
_CODES = {
    (0, 1, 1, 2): cv2.COLOR_BayerRGGB2RGB_EA,
    (2, 1, 1, 0): cv2.COLOR_BayerBGGR2RGB_EA,
    (1, 0, 2, 1): cv2.COLOR_BayerGRBG2RGB_EA,
    (1, 2, 0, 1): cv2.COLOR_BayerGBRG2RGB_EA,
}


@dataclass(frozen=True, slots=True)
class Look:
    """How one frame is rendered. `clear`: light in R, G, B where the film has no density of its own, as shares of
    saturation in this take: the base of a negative, the bare lamp of a positive. `lighter_stops`: this frame's own
    print exposure, more is lighter. `matrix`: camera colours to linear sRGB, rows of three, for positives in colour;
    its rows are made to sum to 1, so that neutral stays neutral."""

    tone: Tone
    colour: Colour
    clear: Three
    balance: Balance
    paper: Paper = field(default_factory=Paper)
    lighter_stops: float = 0.0
    matrix: tuple[Three, Three, Three] | None = None


def render(mosaic: Words, pattern: tuple[int, int, int, int], look: Look) -> Words:
    """(H, W, 3) for colour, (H, W) for mono, uint16, encoded by the sRGB transfer function (IEC 61966-2-1).

    `mosaic`: (H, W) uint16 from black to saturation, as `scaled` gives it. Raises ValueError for a pattern that is no
    Bayer pattern and not one channel alone."""
    if look.colour is Colour.MONO:
        return _mono(mosaic, pattern, look)
    if pattern not in _CODES:
        raise ValueError("a colour film needs a colour sensor, or three takes by lamp colour")
    rgb = np.asarray(cv2.cvtColor(mosaic, _CODES[pattern]), np.uint16)
    if look.tone is Tone.NEGATIVE or look.matrix is None:
        return _through(rgb, tables(look))
    linear = _through(rgb, _linear_tables(look))
    mixed = cv2.transform(linear, _neutral_rows(look.matrix))
    return _through(np.asarray(mixed, np.uint16), _table(encoded(_steps())))


def tables(look: Look) -> Words:
    """From a value of the mosaic to a value of the picture, (3, 65536) uint16, one row a channel."""
    return np.stack([_table(encoded(_tone(look, channel))) for channel in range(3)])


def _mono(mosaic: Words, pattern: tuple[int, int, int, int], look: Look) -> Words:
    """A film without colour: filters differ only by how much of the lamp they let through, so each pixel goes through
    its own table, and nothing has to be guessed between pixels."""
    rows = tables(look)
    result = np.empty_like(mosaic)
    if len(set(pattern)) == 1:
        return np.asarray(cv2.LUT(mosaic, rows[pattern[0]]), np.uint16).reshape(mosaic.shape)
    for place, channel in enumerate(pattern):
        part = np.ascontiguousarray(mosaic[place // 2 :: 2, place % 2 :: 2])
        result[place // 2 :: 2, place % 2 :: 2] = cv2.LUT(part, rows[channel]).reshape(part.shape)
    return result


def _tone(look: Look, channel: int) -> NDArray[np.float64]:
    """Linear luminance of the print for each of the 65536 values."""
    over = density(_steps(), look.clear[channel])
    if look.tone is Tone.POSITIVE:
        light: NDArray[np.float64] = np.power(10.0, -over + look.lighter_stops * np.log10(2.0))
        return light
    log_light = log_exposure(over, look.balance.middle[channel], look.balance.gamma[channel])
    return print_share(log_light + look.lighter_stops * np.log10(2.0), look.paper)


def _linear_tables(look: Look) -> Words:
    return np.stack([_table(np.clip(_tone(look, channel), 0.0, 1.0)) for channel in range(3)])


def _steps() -> NDArray[np.float64]:
    return np.arange(TOP + 1) / TOP


def _table(values: NDArray[np.float64]) -> Words:
    return np.asarray(np.rint(values * TOP), np.uint16)


def _through(rgb: Words, rows: Words) -> Words:
    """Each channel through its own table (3, 65536), or all through one (65536,)."""
    table = rows if rows.ndim == 1 else np.ascontiguousarray(rows.T).reshape(1, TOP + 1, 3)
    return np.asarray(cv2.LUT(rgb, table), np.uint16)


def _neutral_rows(matrix: tuple[Three, Three, Three]) -> NDArray[np.float64]:
    rows = np.asarray(matrix, np.float64)
    sums = rows.sum(axis=1, keepdims=True)
    if np.any(sums <= 0):
        raise ValueError("a colour matrix must give light for light: one of its rows sums to nothing")
    result: NDArray[np.float64] = rows / sums
    return result
