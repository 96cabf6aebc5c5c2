"""Stray light: what reaches the sensor beside the light that came through the film.

Two shares, both of the bare lamp: the room's (lamp off: what lamp, screen and window throw onto the film from above),
and the veil (lamp on: light scattered by lens and holder into what is black). A share s of the base's light makes a
density D measure as -log10(10^-D + s): that is the density error told here.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from rigd.bench.values import Figure, Finding, Limit, judged
from rigd.errors import InputError
from rigd.imaging.raw import Raw

_DENSE = 2.0
"""Density for which the error is told: the dense parts of an ordinary negative."""
_LIMIT = Limit(0.5, "%", "0.02 D at density 1 (our own; there is no published limit)")


class Stray(Struct, frozen=True):
    """`share_pct`: of the bare lamp's light, with one standard uncertainty; `error`: by how much density 2 is measured
    too low."""

    share_pct: float
    uncertainty: float
    error: float


def lost_density(density: float, share: float) -> float:
    """By how much a density is measured too low where a share of the clear light is added everywhere."""
    return density + math.log10((10.0**-density + share) / (1.0 + share))


def room_light(dark: Raw, lamp_1s: tuple[float, float, float]) -> Stray:
    """From a take with the lamp off and film or white paper in the gate.

    Args:
        lamp_1s: the bare lamp, L for 1 s in R, G, B (stops under saturation), as measured through the open gate.

    Raises:
        InputError: the take is too bright to be of a dark room.
    """
    height, width = dark.mosaic.shape
    area = dark.mosaic[height // 4 : 3 * height // 4 // 2 * 2, width // 4 : 3 * width // 4 // 2 * 2]
    return _share(dark, area, lamp_1s)


def veil(lit: Raw, lamp_1s: tuple[float, float, float], box: tuple[int, int, int, int]) -> Stray:
    """From a take with the lamp on: what is seen where something opaque lies (`box`: left, top, right, bottom in
    px)."""
    left, top, right, bottom = (edge - edge % 2 for edge in box)
    return _share(lit, lit.mosaic[top:bottom, left:right], lamp_1s)


def _share(raw: Raw, area: np.ndarray, lamp_1s: tuple[float, float, float]) -> Stray:
    green = [place for place, channel in enumerate(raw.pattern) if channel == 1]
    values = np.stack([area[p // 2 :: 2, p % 2 :: 2].astype(np.float64) - raw.black[p] for p in green])
    if values.size == 0:
        raise InputError("No area is left to measure stray light in.", "", "Choose a larger one.")
    lamp = 2.0 ** lamp_1s[1] * raw.seconds * (raw.white - raw.black[green[0]])
    share, sd = float(values.mean()) / lamp, float(values.std()) / math.sqrt(values.size) / lamp
    if share > 0.2:
        raise InputError(
            "That is no stray light: a fifth of the lamp's light and more arrives.",
            "The lamp seems to be on, or nothing covers the place.", "Switch it off, and take it again.",
        )  # fmt: skip
    return Stray(100 * share, 100 * sd, lost_density(_DENSE, max(0.0, share)))


def finding(check: str, found: Stray, advice: str) -> Finding:
    """The share against our own limit: there is no published one for film."""
    figure = Figure("stray light, of the bare lamp", found.share_pct, "%", found.uncertainty)
    return judged(check, figure, _LIMIT, advice, (Figure("density 2 is measured too low by", found.error, "D"),))
