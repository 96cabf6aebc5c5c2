"""When the film is still: from a track of displacements, in micrometres at the film.

A rig that was knocked swings as A(t) = A0 exp(-zeta w t). Half of what the track spans from some moment on is the
amplitude that is left from then on, as long as the track covers a whole swing: so many pictures are asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from msgspec import Struct

# Half a pixel either way smears an edge over one pixel more: sinc(0.5), a tenth of the contrast at Nyquist.
_SHARE_OF_PITCH = 0.5
# A shift is measured to 0.02 live pixel on ordinary pictures, to 0.05 on nearly blank ones: less cannot be asked for.
_LEAST_LIVE_PX = 0.06


class Point(Struct, frozen=True):
    """Where the film was at that moment (s), in um from wherever the track began."""

    at: float
    x_um: float
    y_um: float


class Rest(Struct, frozen=True):
    """The film is still since `since` (s); it moved by `moved_um` at most, either way, from then on."""

    since: float
    moved_um: float


def limit_um(live_px_per_mm: float, sensor_px_per_mm: float) -> float:
    """Amplitude under which the film counts as still: half a sensor pixel at the film, or what live view can tell."""
    return max(_SHARE_OF_PITCH * 1000.0 / sensor_px_per_mm, _LEAST_LIVE_PX * 1000.0 / live_px_per_mm)


def rest(track: Sequence[Point], limit: float, pictures: int) -> Rest | None:
    """The longest rest at the end of a track, oldest point first; None if its last `pictures` points moved by more
    than `limit` (um, amplitude), or if there are not that many."""
    found: Rest | None = None
    left = right = top = bottom = 0.0
    for count, point in enumerate(reversed(track), 1):
        if count == 1:
            left = right = point.x_um
            top = bottom = point.y_um
        left, right = min(left, point.x_um), max(right, point.x_um)
        top, bottom = min(top, point.y_um), max(bottom, point.y_um)
        amplitude = hypot(right - left, bottom - top) / 2
        if amplitude > limit:
            break
        if count >= pictures:
            found = Rest(point.at, amplitude)
    return found


def swing_um(track: Sequence[Point], pictures: int) -> float:
    """Amplitude over the last `pictures` points, um; 0.0 without any."""
    last = track[-pictures:]
    if not last:
        return 0.0
    xs, ys = [p.x_um for p in last], [p.y_um for p in last]
    return hypot(max(xs) - min(xs), max(ys) - min(ys)) / 2
