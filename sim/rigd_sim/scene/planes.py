"""The few array operations that the scene needs, with their types said once: OpenCV's annotations say only "Mat"."""

from __future__ import annotations

import math
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
Words = NDArray[np.uint16]
Light = NDArray[np.float32]
Floats = NDArray[np.float64]

SUB_PIXEL = 4
"""Bits of sub-pixel precision in drawing: coordinates are given in sixteenths of a pixel."""


def looked_up(codes: Bytes, table: Light) -> Light:
    """`table` (256,) at each code, same shape as `codes`."""
    return cast(Light, cv2.LUT(np.ascontiguousarray(codes), table))


def blurred(light: Light, sigma: float) -> Light:
    """Gaussian blur; borders repeat."""
    size = 2 * math.ceil(3 * sigma) + 1
    return cast(Light, cv2.GaussianBlur(light, (size, size), sigma, borderType=cv2.BORDER_REPLICATE))


def softened(codes: Bytes, sigma: float) -> Bytes:
    """Gaussian blur of bytes."""
    return cast(Bytes, cv2.GaussianBlur(codes, (0, 0), sigma)) if sigma > 0 else codes


def smeared(light: Light, kernel: Light) -> Light:
    """Correlation with a kernel; borders repeat."""
    return cast(Light, cv2.filter2D(light, -1, kernel, borderType=cv2.BORDER_REPLICATE))


def warped(codes: Bytes, matrix: Floats, width: int, height: int, cubic: bool) -> Bytes:
    """The plane through a homography, onto (height, width); 0 outside."""
    how = cv2.INTER_CUBIC if cubic else cv2.INTER_LINEAR
    return cast(Bytes, cv2.warpPerspective(codes, matrix, (width, height), flags=how, borderValue=0))


def resized(plane: Light, width: int, height: int, cubic: bool = False) -> Light:
    """The plane at another size."""
    how = cv2.INTER_CUBIC if cubic else cv2.INTER_LINEAR
    return cast(Light, cv2.resize(plane, (width, height), interpolation=how))


def reduced(plane: Bytes, width: int, height: int) -> Bytes:
    """The plane at a smaller size, each pixel the mean of what it covers."""
    return cast(Bytes, cv2.resize(plane, (width, height), interpolation=cv2.INTER_AREA))


def times(light: Light, factor: Light) -> Light:
    """light x factor (broadcast), in place; returns `light`."""
    np.multiply(light, factor, out=light)
    return light


def shaded(light: Light, mask: Bytes) -> Light:
    """light x mask / 255."""
    return cast(Light, cv2.multiply(light, mask, scale=1 / 255, dtype=cv2.CV_32F))


def as_bytes(values: Light) -> Bytes:
    """Rounded and cut to 0..255."""
    return cast(Bytes, cv2.addWeighted(values, 1.0, values, 0.0, 0.0, dtype=cv2.CV_8U))


def offset(codes: Bytes, change: Bytes) -> Bytes:
    """codes + (change - 128), cut to 0..255: a change of brightness kept in bytes."""
    return cast(Bytes, cv2.addWeighted(codes, 1.0, change, 1.0, -128.0))
