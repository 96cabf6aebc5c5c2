"""The body's own light meter, for the exposure programs that are not manual."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

import numpy as np

from rigd_sim.camera.scales import SHUTTER, working_aperture
from rigd_sim.camera.sight import Sight

GREY = 0.18  # of full scale, linear: the mean that meters aim at (common practice, no source)
WIDTH = 96  # px of the picture that is metered


def metered(sight: Sight, at: float, f_number: float, iso: int) -> Fraction:
    """The longest shutter time of the scale that brings the mean of the picture to grey at most. Blocking.

    The mean grows with the time also where parts of the picture are clipped, so halving the scale finds it.
    """
    times = sorted(SHUTTER.values())
    first_too_bright = bisect_right(
        times, GREY, lo=1, key=lambda seconds: _mean(sight, at, float(seconds), working_aperture(f_number), iso)
    )
    return times[first_too_bright - 1]


def _mean(sight: Sight, at: float, seconds: float, f_number: float, iso: int) -> float:
    """Mean of the picture in linear light, 0..1; decoding by the sRGB curve (IEC 61966-2-1)."""
    picture = sight.preview(at, WIDTH, seconds, f_number, iso, gain="follow") / 255.0
    linear = np.where(picture <= 0.04045, picture / 12.92, ((picture + 0.055) / 1.055) ** 2.4)
    return float(linear.mean())
