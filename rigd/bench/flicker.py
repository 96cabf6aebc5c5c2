"""Flicker: bands across the picture of a slit shutter, variation from take to take, and the times that are safe.

A lamp's ripple of frequency f and depth d (peak, as a share of its light) leaves d |sinc(f t)| after an exposure of t
seconds. A shutter that takes r seconds to cross the frame shows it as f r bands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.bench.values import Figure, Finding, Limit, judged
from rigd.errors import InputError
from rigd.imaging.mains import mains_safe, residual
from rigd.imaging.raw import Raw
from rigd.model.units import shutter_words

_LIMIT = Limit(1.0, "%", "our own: as good as the evenness of FADGI 2016, four stars")
_SAFE = 0.01
_LEAST_BANDS = 0.75
_CURVE = 4
"""Degree of the curve that stands for the lamp's fall-off: a lamp has no more bends."""


class Bands(Struct, frozen=True):
    """`cycles` over the sensor's whole height; `depth_pct`: peak, of the mean; `noise_pct`: what would be seen without
    any."""

    cycles: float
    depth_pct: float
    noise_pct: float


def bands(raw: Raw) -> Bands:
    """Find the bands in a take of the empty, lit gate (rows are read out from top to bottom).

    Raises:
        InputError: the take is dark or saturated.
    """
    rows = _rows(raw)
    rest = rows / rows.mean() - 1.0
    cycles = _peak(rest)
    wave = _waves(len(rest), cycles)
    fit, *_ = np.linalg.lstsq(wave, rest, rcond=None)
    left = rest - wave @ fit
    noise = float(left.std()) * math.sqrt(2.0 / len(rest))
    whole = raw.mosaic.shape[0] / len(rows)
    return Bands(cycles * whole, 100 * float(np.hypot(fit[0], fit[1])), 100 * noise)


def frequency(found: Bands, readout_s: float) -> float:
    """The lamp's ripple in Hz, of bands under a shutter that takes `readout_s` to cross the sensor."""
    return found.cycles / readout_s


def depth_of_ripple(found: Bands, hertz: float, seconds: float) -> float:
    """The lamp's own ripple (peak, share of its light), of bands after an exposure of `seconds`. Not a number where the
    exposure averages it out."""
    left = residual(seconds, hertz)
    return found.depth_pct / 100 / left if left > 0.02 else math.nan


def safe_times(times: Sequence[float], hertz: float, depth: float) -> list[float]:
    """Those of a camera's times, meant as written, that leave less than 1 % of variation of this ripple."""
    return mains_safe(times, (hertz,), depth, true_thirds=False, most=_SAFE)


def variation(levels: Sequence[float]) -> float:
    """Spread of the mean level of like takes, as per cent of it (one standard deviation). Needs three or more."""
    if len(levels) < 3:
        raise InputError("Three like takes are needed at least to see a variation.", "", "Take more.")
    values = np.asarray(levels)
    return float(100 * values.std(ddof=1) / values.mean())


def finding(found: Bands, safe: Sequence[float]) -> Finding:
    """The bands against our limit; `safe`: times that average the ripple out."""
    shortest = ", ".join(shutter_words(t) for t in sorted(safe)[:4])
    advice = f"Use a time that averages it out: {shortest} or longer ones." if safe else (
        "No time of this camera averages it out: use a lamp that does not ripple.")  # fmt: skip
    figure = Figure("bands, peak", found.depth_pct, "%", found.noise_pct)
    return judged("flicker", figure, _LIMIT, advice, (Figure("bands over the picture", found.cycles),))


def _rows(raw: Raw) -> NDArray[np.float64]:
    """Mean of the green pixels of each row in the lit middle, black subtracted."""
    height, width = raw.mosaic.shape
    columns = slice(width // 3 // 2 * 2, 2 * width // 3 // 2 * 2)
    rows = np.empty(height)
    for place in (p for p, channel in enumerate(raw.pattern) if channel == 1 and (p < 2 or len(set(raw.pattern)) > 1)):
        y = place // 2
        rows[y::2] = raw.mosaic[y::2, columns][:, place % 2 :: 2].mean(axis=1) - raw.black[place]
    if len(set(raw.pattern)) == 1:
        rows = raw.mosaic[:, columns].mean(axis=1) - raw.black[0]
    middle = float(np.median(rows[height // 4 : -height // 4]))
    if middle < 0.01 * raw.white or middle > 0.95 * (raw.white - raw.black[0]):
        raise InputError("The take is too dark or saturated.", "Flicker is measured on the empty, lit gate.",
                         "Take it between a tenth and nine tenths of saturation.")  # fmt: skip
    lit = np.flatnonzero(rows > 0.5 * middle)
    edge = (lit[-1] - lit[0]) // 50
    return rows[lit[0] + edge : lit[-1] - edge]


def _peak(rest: NDArray[np.float64]) -> float:
    """Cycles over the length at the greatest wave, to a small part of one: the transform's peak, then refined."""
    smooth = np.polynomial.Polynomial.fit(np.arange(len(rest)), rest, _CURVE)(np.arange(len(rest)))
    padded = np.abs(np.fft.rfft((rest - smooth) * np.hanning(len(rest)), 16 * len(rest)))
    first = math.ceil(16 * _LEAST_BANDS)
    at = (first + int(np.argmax(padded[first : 16 * len(rest) // 4]))) / 16
    for reach in (0.5, 0.05, 0.005):
        tried = at + np.linspace(-reach, reach, 21)
        at = float(tried[int(np.argmax([_power(rest, float(c)) for c in tried]))])
    return at


def _power(rest: NDArray[np.float64], cycles: float) -> float:
    """How much of the rows a wave of so many cycles explains, beside the lamp's smooth fall-off."""
    wave = _waves(len(rest), cycles)
    fit, *_ = np.linalg.lstsq(wave, rest, rcond=None)
    return -float(np.sum((rest - wave @ fit) ** 2))


def _waves(length: int, cycles: float) -> NDArray[np.float64]:
    phase = 2 * math.pi * cycles * np.arange(length) / length
    curve = np.polynomial.legendre.legvander(np.linspace(-1, 1, length), _CURVE)
    return np.column_stack([np.cos(phase), np.sin(phase), curve])
