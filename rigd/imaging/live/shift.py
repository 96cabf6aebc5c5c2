"""How far the picture has moved from one look to the next, to a few hundredths of a live pixel.

Two steps. Far: to a pixel, from anywhere (`far`); it follows a film that slides most of a gate from picture to picture.
Fine: the gradient method of optical flow (least squares of the brightness difference on the gradient), repeated on the
shifted bands until what is left is nothing.
"""

from __future__ import annotations

from math import sqrt

import cv2
import numpy as np
from msgspec import Struct

from rigd.imaging.live.far import Likely, far_shift
from rigd.imaging.live.look import Bands, Look, band_range

Area = tuple[float, float, float, float]
"""Left, top, right, bottom in live px."""

Fit = tuple[float, float, float, float]

# Wider than a live picture's own blur: gradients are taken of what is left.
_SMOOTH = 1.2
# The lamp's falloff stays where it is: what is broader than this (px) is left out.
_BROAD = 101
# Under this the gradient method finds its way alone.
_NEAR_PX = 2.0
_ROUNDS = 3
# Across the film: the most that a rig shakes (px), and how well two looks must agree to believe more than `_NEAR_PX`.
_WIDE_PX, _SURE = 20.0, 0.8
# A change is looked for over so many px of one band: the noise of their mean is under a display level.
_PATCH = 41
# JPEG leaves half a display level of its own in each band, squared: what seems smoother is not known better.
_LEAST_NOISE = 0.3
# Movement across the film is believed where its standard error is under this: a black slide has nothing to show it.
_TOLD_PX = 0.02


class Shift(Struct, frozen=True):
    """`x` and `y`: how far the picture went, live px (x along the film). `error`: standard error of x, px; large
    where nothing can be seen to move. `agree`: correlation of the two where they overlap, -1 to 1. `changed`: what
    movement does not explain, display levels, at the worst place: a hand that comes in."""

    x: float
    y: float
    error: float
    agree: float
    changed: float


def shift_between(
    one: Look, two: Look, area: Area, guess: float | None = 0.0, likely: Likely | None = None
) -> Shift:
    """From `one` to `two` inside `area`. `guess`: where x may be (px); None: anywhere. `likely`: where it is to be
    looked for if it is not there; None: anywhere. `agree` is 0 where two places are as good as each other."""
    left, top, right, bottom = area
    width, height = one.size
    rows, columns = band_range(top, bottom, height), band_range(left, right, width)
    x_range, y_range = slice(max(0, int(left)), int(right)), slice(max(0, int(top)), int(bottom))
    a, b = filtered(one.along[rows, x_range]), filtered(two.along[rows, x_range])
    x, error, agree, changed = _line_shift(a, b, guess, likely)
    y = 0.0
    if abs(x) < _NEAR_PX:
        c, d = filtered(one.across[columns, y_range]), filtered(two.across[columns, y_range])
        y = _sideways(c, d)
    return Shift(x, y, error, agree, changed)


def _sideways(one: Bands, two: Bands) -> float:
    """Across the film nothing slides: a long way is believed only where both agree on it."""
    far, error, agree, _ = _line_shift(one, two, 0.0, None)
    if error > _TOLD_PX:
        return 0.0
    return far if abs(far) < _NEAR_PX or (agree > _SURE and abs(far) < _WIDE_PX) else 0.0


def _line_shift(one: Bands, two: Bands, guess: float | None, likely: Likely | None) -> Fit:
    """Shift along the bands, its standard error, the agreement, and what else changed."""
    near = (0.0, 9.0, 0.0, 0.0) if guess is None else _fine(one, two, guess)
    if guess is not None and abs(near[0] - guess) < _NEAR_PX and near[2] > 0.9:
        return near
    start, plain = far_shift(one, two, likely)
    far = _fine(one, two, start)
    if guess is not None and near[2] >= far[2]:
        return near
    return far if plain else (far[0], far[1], 0.0, far[3])


def filtered(bands: Bands) -> Bands:
    """Bands without their noise and without what is broad: lamp and falloff stay where they are."""
    smooth = cv2.GaussianBlur(bands, (0, 0), sigmaX=_SMOOTH, sigmaY=1e-6)
    return np.asarray(smooth - cv2.blur(smooth, (_BROAD, 1)), np.float32)


def _fine(one: Bands, two: Bands, start: float) -> Fit:
    """Refine a shift; the same four numbers."""
    n = one.shape[1]
    at = start
    fit = (0.0, 9.0, 0.0, 0.0)
    for _ in range(_ROUNDS):
        whole = round(at)
        if n - abs(whole) < 24:
            return start, 9.0, 0.0, 0.0
        a = one[:, max(0, -whole) : n - max(0, whole)]
        b = _moved(two[:, max(0, whole) : n - max(0, -whole)], at - whole)
        fit = _gradient(a[:, 2:-2], b[:, 2:-2])
        at += max(-1.5, min(1.5, fit[0]))
        if abs(fit[0]) < 0.005:
            break
    return at, *fit[1:]


def _moved(bands: Bands, by: float) -> Bands:
    """Bands read `by` px further on (-1 to 1), by four-point cubic convolution (a = -1/2). Exact to any fraction:
    image warps round to 1/32 px, which is more than a rig at rest moves."""
    if abs(by) < 1e-4:
        return bands
    whole = int(np.floor(by))
    t = by - whole
    taps = np.zeros(7, np.float32)
    taps[2 + whole : 6 + whole] = (
        0.5 * (-t + 2 * t**2 - t**3), 0.5 * (2 - 5 * t**2 + 3 * t**3),
        0.5 * (t + 4 * t**2 - 3 * t**3), 0.5 * (t**3 - t**2),
    )  # fmt: skip
    return np.asarray(cv2.filter2D(bands, -1, taps[None, :], borderType=cv2.BORDER_REPLICATE), np.float32)


def _gradient(one: Bands, two: Bands) -> Fit:
    """One step of least squares: what is left of the shift, and the other three."""
    power = float(np.vdot(two, two))
    # A live picture follows the shutter: between two exposures it may be brighter as a whole.
    gain = float(np.vdot(one, two)) / power if power > 0 else 1.0
    two = two * np.float32(max(gain, 0.1))
    mean = (one + two) * 0.5
    slope = (mean[:, 2:] - mean[:, :-2]) * 0.5
    a, b = one[:, 1:-1], two[:, 1:-1]
    change = a - b
    energy = float(np.vdot(slope, slope))
    if energy <= 1e-6:
        return 0.0, 9.0, 0.0, 0.0
    step = float(np.vdot(slope, change)) / energy
    rest = change - slope * np.float32(step)
    noise = max(float(np.vdot(rest, rest)) / rest.size, _LEAST_NOISE)
    power = sqrt(float(np.vdot(a, a)) * float(np.vdot(b, b)))
    agree = float(np.vdot(a, b)) / power if power > 0 else 0.0
    # Neighbouring pixels share their noise after smoothing: about one in three tells something new.
    return step, sqrt(3.0 * noise / energy), agree, float(cv2.blur(np.abs(rest), (_PATCH, 1)).max())
