"""The film's base by itself: a take of clear film, as leader or gap, metered for the roll."""

from __future__ import annotations

from typing import Literal

import numpy as np

from rigd.imaging.levels import Three, histogram
from rigd.imaging.raw import Raw

# A level this near to saturation may be any amount over it.
_FULL = -0.05
# Under this, in stops, a 14-bit file has some thirty units: noise moves the level.
_DARK = -9.0
# Clear film with its grain, dust and the lamp's fall-off spreads less than this between its 1 % and 99 % points; any
# picture, and any edge, spreads more.
_PLAIN_STOPS = 1.0

Amiss = Literal["full", "dark", "picture"]


def base_level(raw: Raw, seconds: float) -> Three | Amiss:
    """The level of R, G, B for 1 s of the clear film in the middle ninth of the sensor's sight; or why it is none:
    saturated, lost in black, or no plain film."""
    height, width = raw.mosaic.shape
    found = histogram(raw, (width // 3, height // 3, width - width // 3, height - height // 3))
    level = (found.point(0, 0.5), found.point(1, 0.5), found.point(2, 0.5))
    lead = int(np.argmax(level))
    if max(level) > _FULL or found.point(lead, 0.99) > _FULL:
        return "full"
    if max(level) < _DARK:
        return "dark"
    if found.point(lead, 0.99) - found.point(lead, 0.01) > _PLAIN_STOPS:
        return "picture"
    red, green, blue = (value - float(np.log2(raw.seconds or seconds)) for value in level)
    return red, green, blue
