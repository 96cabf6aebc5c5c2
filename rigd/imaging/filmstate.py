"""What the film itself shows: a picture, nothing (unexposed), fog, or no film at all."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.levels import Three
from rigd.model.words import Film, Tone

# Structure fainter than this, after smoothing, is grain or lamp: a picture underexposed by four stops still shows more.
_FAINT = 0.12
# Two levels are the same where they differ by less than this.
_SAME = 0.15
# Unexposed reversal film is black: at least D 2.1 under the lamp.
_BLACK_UNDER_LAMP = -7.0
# A lamp falls off by at most this towards the corners; a gradient steeper than it is a picture's.
_FALLOFF = 0.25


class FilmSeen(Struct, frozen=True):
    """`film` None: it could not be told. `sure` False: what decides between two states was not known; `why` says what.
    `relief`: the greatest smooth difference inside the picture in stops, the lamp's falloff taken off."""

    film: Film | None
    sure: bool
    why: str
    relief: float


def film_state(inside: NDArray[np.float32], tone: Tone, base: Three | None, lamp: Three | None,
               edged: bool) -> FilmSeen:
    """Judge `inside`, reduced levels (h, w, 3) of the trimmed picture; `base` and `lamp` as L in this take; `edged`
    where sharp edges were found around it. Anything with structure is a picture. A saturated take must not come here:
    it says nothing about the film."""
    found = relief(inside[:, :, 1])
    if found > _FAINT:
        return FilmSeen(Film.PICTURE, True, "", found)
    middle = [float(np.median(inside[:, :, c])) for c in range(3)]
    if lamp is not None and all(abs(m - bare) < _SAME for m, bare in zip(middle, lamp, strict=True)):
        return FilmSeen(Film.NO_FILM, True, "The bare lamp fills the gate.", found)
    if edged:
        return FilmSeen(Film.PICTURE, True, "Even all over, but with the edges of a picture.", found)
    if tone is Tone.POSITIVE:
        return _even_positive(middle, lamp, found)
    return _even_negative(middle, base, lamp, found)


def _even_negative(middle: list[float], base: Three | None, lamp: Three | None, found: float) -> FilmSeen:
    if base is None:
        unsure = "Even and clear all over; whether it is film or the bare lamp is not known yet."
        return FilmSeen(Film.UNEXPOSED, False, unsure, found)
    off = middle[1] - base[1]
    if off < -2 * _SAME:
        return FilmSeen(Film.FOGGED, True, "Even and darker than the base all over.", found)
    if off > _SAME and lamp is None:
        return FilmSeen(Film.NO_FILM, True, "Lighter than the film's base all over.", found)
    return FilmSeen(Film.UNEXPOSED, True, "Nothing but clear base.", found)


def _even_positive(middle: list[float], lamp: Three | None, found: float) -> FilmSeen:
    if lamp is None:
        return FilmSeen(Film.UNEXPOSED, False, "Even all over; how black it is against the lamp is not known.", found)
    if middle[1] - lamp[1] < _BLACK_UNDER_LAMP:
        return FilmSeen(Film.UNEXPOSED, True, "Black all over.", found)
    return FilmSeen(Film.FOGGED, True, "Even and lighter than black all over.", found)


def relief(green: NDArray[np.float32]) -> float:
    """The greatest smooth difference in (h, w) levels, in stops, a lamp's even falloff and specks taken off."""
    small = cv2.resize(green, (96, 72), interpolation=cv2.INTER_AREA)
    calm = cv2.medianBlur(small, 5)
    y, x = np.mgrid[-1 : 1 : 72j, -1 : 1 : 96j]
    terms = np.stack([np.ones_like(x), x, y, x * x, y * y, x * y], axis=-1).reshape(-1, 6)
    fit, *_ = np.linalg.lstsq(terms, calm.ravel().astype(np.float64), rcond=None)
    rest = calm.ravel() - terms @ fit
    low, high = np.percentile(rest, [0.3, 99.7])
    gradient = float(np.ptp(terms @ fit)) - _FALLOFF
    return max(float(high - low), gradient)
