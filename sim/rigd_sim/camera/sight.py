"""What the camera asks of the scene in front of it, and of the writer of its files."""

from __future__ import annotations

from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

Gain = Literal["follow", "auto"]
"""Live view brightness: as the exposure settings would give, or always readable."""

Compression = Literal["none", "lossless-jpeg"]


class Sight(Protocol):
    """The scene through the lens. Times are in seconds of the scene's clock."""

    def expose(self, start: float, seconds: float, f_number: float, iso: int) -> NDArray[np.uint16]:
        """(H, W) Bayer mosaic of what the sensor collects over [start, start + seconds]. Blocking."""

    def preview(
        self, at: float, width: int, seconds: float, f_number: float, iso: int, gain: Gain
    ) -> NDArray[np.uint8]:
        """(h, width, 3) RGB picture at that moment. Blocking, short."""
