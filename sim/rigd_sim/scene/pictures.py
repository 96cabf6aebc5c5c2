"""What is on the film: pictures of the harbour office's survey, drawn from a seed at any size."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.scene.noise import cloud


def draw_picture(seed: int, number: int, height: int, width: int, channels: int) -> NDArray[np.uint8]:
    """Picture codes (h, w, channels) uint8, log scene luminance, of that frame of that roll."""
    rng = np.random.default_rng([seed, 41, number])
    sky = 165 + 20 * cloud(rng, height, width, 4, 5, 2.0)
    codes = np.clip(sky, 0, 255).astype(np.uint8)
    horizon = int(height * rng.uniform(0.4, 0.6))
    codes[horizon:] = np.clip(110 + 25 * cloud(rng, height, width, 12, 6, 3.0), 0, 255).astype(np.uint8)[horizon:]
    for _ in range(40):
        x, y = int(rng.uniform(0, width)), int(rng.uniform(0.3, 0.9) * height)
        w, h = int(rng.uniform(0.01, 0.2) * height), int(rng.uniform(0.01, 0.3) * height)
        cv2.rectangle(codes, (x, y - h), (x + w, y), int(rng.uniform(40, 200)), -1)
    return np.repeat(codes[:, :, None], channels, axis=2)
