"""A hand in the gate: light that always comes past the film's rim no longer does.

Above and below the picture the gate shows rebate: clear on a negative, with perforations on any 35 mm film. Whatever
reaches into the picture from outside crosses that rim and darkens it.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.live.bed import Bed
from rigd.imaging.live.look import BANDS, Look, band_range
from rigd.model.formats import FilmFormat
from rigd.model.words import Tone

# Between picture and rim: the picture's edge is blurred and the film may lie a little off.
_GAP_MM = 0.3
# A rim narrower than this shows nothing to be trusted.
_LEAST_MM = 0.4
# Perforations come every 4.75 mm (ISO 1007 films): over so much of the rim there is light somewhere.
_REACH_MM = 5.0
# A hand lets nothing through; the densest base lets a third of the lamp's display level through.
_DARK = 0.25
# Levels under this are no light.
_LEAST = 50.0


def covered(one: Look, bed: Bed, film: FilmFormat, tone: Tone) -> bool | None:
    """True if something dark reaches over the film's rim; None where this holder and film show no light there."""
    if tone is Tone.POSITIVE and not film.perforated:
        return None
    rims = [rim for rim in _rims(one, bed, film) if rim is not None]
    if not rims:
        return None
    light = np.concatenate(rims)
    usual = float(np.percentile(light, 80))
    return usual < _LEAST or bool((light < _DARK * usual).any())


def _rims(one: Look, bed: Bed, film: FilmFormat) -> list[NDArray[np.float32] | None]:
    """The lightest of the upper and of the lower rim around each place along the gate."""
    left, top, right, bottom = bed.inner
    middle, half = (top + bottom) / 2, (film.across_mm / 2 + _GAP_MM) * bed.px_per_mm
    columns = band_range(left, right, one.size[0])
    least = _LEAST_MM * bed.px_per_mm
    found: list[NDArray[np.float32] | None] = []
    for first, last in ((top, middle - half), (middle + half, bottom)):
        if last - first < least:
            found.append(None)
            continue
        rim = one.across[columns, int(first) : int(last)].max(axis=1)
        reach = max(1, round(_REACH_MM * bed.px_per_mm * BANDS / one.size[0])) | 1
        found.append(np.asarray(cv2.dilate(rim[None, :], np.ones((1, reach), np.uint8)), np.float32)[0])
    return found
