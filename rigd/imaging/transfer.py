"""The sRGB transfer function (IEC 61966-2-1:1999), both ways. Any shape; the float type is kept."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

F = TypeVar("F", np.float32, np.float64)


def encoded(luminance: NDArray[F]) -> NDArray[F]:
    """Coded values 0..1 of linear ones, which are clipped to 0..1."""
    linear = np.clip(luminance, 0.0, 1.0)
    coded: NDArray[F] = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.power(linear, 1 / 2.4) - 0.055)
    return coded


def decoded(coded: NDArray[F]) -> NDArray[F]:
    """Linear values 0..1 of coded ones 0..1."""
    linear: NDArray[F] = np.where(coded <= 0.04045, coded / 12.92, np.power((coded + 0.055) / 1.055, 2.4))
    return linear
