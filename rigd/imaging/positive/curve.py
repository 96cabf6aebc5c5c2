"""Density, exposure, print: the three scales between a negative and its positive.

Density is D = -log10 T (ISO 5-1). On the straight part of a film's characteristic curve D rises by gamma for each
tenfold exposure (Hurter and Driffield; ISO 6 measures the slope), so the subject's light is found again as
log10 H = (D - D_middle) / gamma.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MIDDLE_GREY = 0.18
"""Reflectance of the ordinary mid-tone that exposure meters are made for (common practice; ISO 2720 builds on it)."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A print's tones. `contrast`: density that the print loses for each tenfold exposure of the subject, at middle
    grey (1.0 gives the subject's own ratios back). `white`, `black`: densities of the blank paper and of its deepest
    black (0.05 and 2.1 are usual for glossy paper: common practice, no source)."""

    contrast: float = 1.1
    white: float = 0.05
    black: float = 2.1

    def __post_init__(self) -> None:
        if not 0.2 <= self.contrast <= 4.0:
            raise ValueError(f"a print's contrast lies between 0.2 and 4, not at {self.contrast:g}")
        if not 0.0 <= self.white < self.white - math.log10(MIDDLE_GREY) < self.black:
            raise ValueError("a paper's black must be denser than its middle grey, and that than its white")


def density(share: Floats, clear: float) -> Floats:
    """Density of light `share` over the light `clear` that passes where there is none (both as shares of saturation
    at one exposure). Any shape; a share of 0 or less counts as a millionth."""
    result: Floats = -np.log10(np.maximum(share, 1e-6) / max(clear, 1e-6))
    return result


def log_exposure(over_base: Floats, middle: float, gamma: float) -> Floats:
    """log10 of the subject's light relative to middle grey, of densities over the base; `middle`: density over the
    base that stands for middle grey, `gamma`: density for each tenfold exposure (about 0.6 for negatives)."""
    result: Floats = (over_base - middle) / gamma
    return result


def print_share(log_light: Floats, paper: Paper) -> Floats:
    """Luminance of the print, 0 (its black) to 1 (its white), of log10 subject light relative to middle grey.

    The print's density falls along a logistic curve between its black and its white, with the paper's contrast where
    the subject is middle grey; that grey prints as 0.18 of the white. The paper's black is then laid at 0, so that a
    screen shows it as black."""
    span = paper.black - paper.white
    at_grey = -math.log10(MIDDLE_GREY) / span
    slope = paper.contrast / (span * at_grey * (1.0 - at_grey))
    # 1 / (1 + e^x) written with tanh, which cannot overflow.
    share = 0.5 * (1.0 - np.tanh((slope * log_light + math.log(1.0 / at_grey - 1.0)) / 2.0))
    floor = 10.0**-span
    result: Floats = np.maximum(np.power(10.0, -span * share) - floor, 0.0) / (1.0 - floor)
    return result

