"""Mosaics on one scale: 16 bits from black to saturation; several takes of one frame laid together."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.positive.flat import GAIN_ONE, Flat
from rigd.imaging.raw import Raw

Words = NDArray[np.uint16]
TOP = 65535
_NEAR_TOP = 0.9
"""A value over this share of saturation, or beside one, is not trusted in the longer of two exposures: -0.15 stop is
the ceiling of the definition of exposure."""


def scaled(raw: Raw, flat: Flat | None = None) -> Words:
    """The mosaic, (H, W) uint16, black at 0 and saturation at 65535, evened out by `flat`."""
    if len(set(raw.black)) == 1:
        lifted = _stretch(raw.mosaic, raw.black[0], raw.white)
    else:
        lifted = np.empty(raw.mosaic.shape, np.uint16)
        for place, black in enumerate(raw.black):
            rows, columns = slice(place // 2, None, 2), slice(place % 2, None, 2)
            lifted[rows, columns] = _stretch(np.ascontiguousarray(raw.mosaic[rows, columns]), black, raw.white)
    if flat is None:
        return lifted
    gains = flat.over(raw.pattern, (lifted.shape[0], lifted.shape[1]))
    return np.asarray(cv2.multiply(lifted, gains, scale=1.0 / GAIN_ONE), np.uint16)


def _stretch(values: Words, black: float, white: float) -> Words:
    gain = TOP / (white - black)
    return np.asarray(cv2.addWeighted(values, gain, values, 0.0, -black * gain, dtype=cv2.CV_16U), np.uint16)


def merge_exposures(short: Words, long: Words, ratio: float) -> Words:
    """Two exposures of one frame as one mosaic on the scale of the shorter: its light tones, the longer's dark ones.

    `ratio`: the longer exposure over the shorter, by the camera's true times (more than 1).

    Raises:
        ValueError: shapes differ, or the ratio is not over 1.
    """
    if short.shape != long.shape:
        raise ValueError(f"two exposures of one frame must be of one size, not {short.shape} and {long.shape}")
    if ratio <= 1.0:
        raise ValueError(f"the second exposure must be the longer one, not {ratio:g} times the first")
    # The blend begins a stop under the ceiling, so that no edge shows where one exposure hands over to the other.
    brightest = cv2.dilate(long, np.ones((3, 3), np.uint8))
    trust = np.clip((_NEAR_TOP * TOP - brightest.astype(np.float32)) / (_NEAR_TOP * TOP / 2), 0.0, 1.0)
    mixed = short * (1.0 - trust) + long * (trust / np.float32(ratio))
    return np.asarray(np.rint(mixed), np.uint16)


def combine_channels(red: Words, green: Words, blue: Words, pattern: tuple[int, int, int, int]) -> Words:
    """Three takes by lamp colour as one mosaic: each pixel from the take whose lamp its own filter was made for.

    Raises:
        ValueError: the shapes differ, or the sensor has no colour filters (its three takes are whole pictures already).
    """
    if not red.shape == green.shape == blue.shape:
        raise ValueError("the three takes by lamp colour must be of one size")
    if set(pattern) != {0, 1, 2}:
        raise ValueError("three takes of a sensor without colour filters are put together as they are")
    result = np.empty_like(red)
    for place, channel in enumerate(pattern):
        rows, columns = slice(place // 2, None, 2), slice(place % 2, None, 2)
        result[rows, columns] = (red, green, blue)[channel][rows, columns]
    return result
