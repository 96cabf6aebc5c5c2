"""The path of the film's image during an exposure, as a kernel to blur with."""

from __future__ import annotations

import math

import numpy as np

from rigd_sim.scene.planes import Floats, Light

STILL_PX = 0.1
"""A path that stays within this many px is taken as still: it costs under 1 % of contrast at the sensor's limit."""


def sample_times(start: float, seconds: float, hertz: float) -> Floats:
    """Times at which to sample a path: middles of even steps, at least 16 in each period of a vibration."""
    steps = int(np.clip(math.ceil(seconds * hertz * 16), 33, 1024))
    return start + (np.arange(steps) + 0.5) / steps * seconds


def path_kernel(dx: Floats, dy: Floats) -> Light | None:
    """The kernel (odd, odd) float32, sum 1, for `cv2.filter2D` of an image that dwelt at these offsets (px).

    None where the path is still. filter2D correlates, so an image moved by +d takes its light from -d.
    """
    if max(np.abs(dx).max(), np.abs(dy).max()) < STILL_PX:
        return None
    reach_x, reach_y = math.ceil(np.abs(dx).max()) + 1, math.ceil(np.abs(dy).max()) + 1
    kernel = np.zeros((2 * reach_y + 1, 2 * reach_x + 1))
    x, y = reach_x - dx, reach_y - dy
    column, row = np.floor(x).astype(int), np.floor(y).astype(int)
    right, down = x - column, y - row
    for step_y, weight_y in ((0, 1 - down), (1, down)):
        for step_x, weight_x in ((0, 1 - right), (1, right)):
            np.add.at(kernel, (row + step_y, column + step_x), weight_x * weight_y)
    return np.asarray(kernel / kernel.sum(), dtype=np.float32)
