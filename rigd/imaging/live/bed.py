"""What is known of how the film lies before the camera: the gate's opening in the live picture, and the scale."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.live.look import Look
