"""What the film itself shows: a picture, nothing (unexposed), fog, or no film at all."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.levels import Three
from rigd.model.words import Film, Tone

# Structure fainter than this, after smoothing, is grain or lamp. A picture underexposed by five stops shows more.
_FAINT = 0.05
# Two levels are the same where they differ by less than this.
_SAME = 0.15
# Unexposed reversal film is black: at least D 2.1 under the lamp.
_BLACK_UNDER_LAMP = -7.0
# A lamp falls off by at most this towards the corners; a gradient steeper than it is a picture's, or fog.
_FALLOFF = 0.25
# Fog fades without detail: its sharpest bend is less than this share of its whole range. Pictures have twice that.
_SMOOTH = 0.06
# It comes from one side: what a profile along or across the film leaves is less than this share of the range.
_ONE_WAY = 0.12
# The map that structure is looked for in: coarse enough to leave grain and dust behind.
_MAP = (96, 72)


class FilmSeen(Struct, frozen=True):
    """`film` None: it could not be told. `sure` False: what decides between two states was not known; `why` says what.
    `relief`: the greatest smooth difference inside the picture in stops, the lamp's falloff taken off."""

    film: Film | None
    sure: bool
    why: str
    relief: float


def film_state(
    inside: NDArray[np.float32], tone: Tone, base: Three | None, lamp: Three | None, sides: int
) -> FilmSeen:
    """Judge `inside`, soft levels (h, w, 3) of the trimmed picture; `base` and `lamp` as soft levels in this take;
    `sides`: how many of the picture's edges were seen. Anything with detail is a picture. A saturated take must not
    come here: it says nothing about the film."""
    calm = _calm(inside[:, :, 1])
    found = relief(calm)
    if found > _FAINT:
        smooth = bend(calm) < _SMOOTH * float(np.ptp(calm)) and _one_way(calm)
        if sides < 3 and smooth and _ends_in_nothing(calm, tone, base, lamp):
            why = "Light has struck part of the film, and there is no picture to be seen."
            return FilmSeen(Film.FOGGED, False, why, found)
        return FilmSeen(Film.PICTURE, True, "", found)
    middle = [float(np.median(inside[:, :, c])) for c in range(3)]
    if lamp is not None and all(abs(m - bare) < _SAME for m, bare in zip(middle, lamp, strict=True)):
        return FilmSeen(Film.NO_FILM, True, "The bare lamp fills the gate.", found)
    if tone is Tone.POSITIVE:
        return _even_positive(middle, lamp, found, sides)
    return _even_negative(middle, base, lamp, found, sides)


def _even_negative(
    middle: list[float], base: Three | None, lamp: Three | None, found: float, sides: int
) -> FilmSeen:
    if sides == 4:
        # Without a base to compare, the edges may be the gate's and the film fogged.
        return FilmSeen(Film.PICTURE, base is not None, "Even all over, but with the edges of a picture.", found)
    if base is None:
        unsure = "Even and clear all over; whether it is film or the bare lamp is not known yet."
        return FilmSeen(Film.UNEXPOSED, False, unsure, found)
    off = middle[1] - base[1]
    if off < -2 * _SAME:
        return FilmSeen(Film.FOGGED, True, "Even and darker than the base all over.", found)
    if off > _SAME and lamp is None:
        return FilmSeen(Film.NO_FILM, True, "Lighter than the film's base all over.", found)
    return FilmSeen(Film.UNEXPOSED, True, "Nothing but clear base.", found)


def _even_positive(middle: list[float], lamp: Three | None, found: float, sides: int) -> FilmSeen:
    if lamp is None:
        return FilmSeen(Film.UNEXPOSED, False, "Even all over; how black it is against the lamp is not known.", found)
    if middle[1] - lamp[1] < _BLACK_UNDER_LAMP:
        return FilmSeen(Film.UNEXPOSED, True, "Black all over.", found)
    if sides == 4:
        return FilmSeen(Film.PICTURE, True, "Even all over, but with the edges of a picture.", found)
    return FilmSeen(Film.FOGGED, False, "Even and lighter than black all over: fog, or a picture of nothing.", found)


def _calm(green: NDArray[np.float32]) -> NDArray[np.float32]:
    small = cv2.resize(green, _MAP, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.medianBlur(small, 5), np.float32)


def relief(calm: NDArray[np.float32]) -> float:
    """The greatest smooth difference in a small map of levels, in stops, a lamp's even falloff taken off."""
    x, y = (_MAP[0] * 1j, _MAP[1] * 1j)
    down, along = np.mgrid[-1:1:y, -1:1:x]
    one = np.ones_like(down)
    terms = np.stack([one, along, down, along**2, down**2, along * down], axis=-1).reshape(-1, 6)
    fit, *_ = np.linalg.lstsq(terms, calm.ravel().astype(np.float64), rcond=None)
    rest = calm.ravel() - terms @ fit
    low, high = np.percentile(rest, [0.3, 99.7])
    gradient = float(np.ptp(terms @ fit)) - _FALLOFF
    return max(float(high - low), gradient)


def _one_way(calm: NDArray[np.float32]) -> bool:
    """True if nearly all that varies does so along one side of the map alone."""
    whole = float(np.ptp(calm))
    rests = (calm - np.median(calm, axis=axis, keepdims=True) for axis in (0, 1))
    return min(float(np.ptp(np.percentile(rest, [1, 99]))) for rest in rests) < _ONE_WAY * whole


def _ends_in_nothing(calm: NDArray[np.float32], tone: Tone, base: Three | None, lamp: Three | None) -> bool:
    """True if the film is clear (a positive: black) where the light did not reach, as far as that is known: fog lies on
    film without a picture, while a sky that is smooth all over ends in nothing nowhere."""
    dark, light = np.percentile(calm, [4, 96])
    if tone is Tone.NEGATIVE:
        return base is None or float(light) > base[1] - 2 * _SAME
    return lamp is None or float(dark) < lamp[1] + _BLACK_UNDER_LAMP + 1.0


def bend(calm: NDArray[np.float32]) -> float:
    """The sharpest bend (Laplacian, 99th of a hundred) in a small map of levels, in stops."""
    smooth = cv2.GaussianBlur(calm, (0, 0), 0.8)
    return float(np.percentile(np.abs(cv2.Laplacian(smooth, cv2.CV_32F)), 99))
