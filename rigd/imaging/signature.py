"""A few bytes that tell whether two takes show the same picture."""

from __future__ import annotations

import zlib

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.raw import Raw

_SIZE = (48, 32)
_PATCH = 512


class Signature(Struct, frozen=True):
    """`thumb`: 48 x 32 levels as bytes, less their mean, in 1/16 stop around 128. `exact`: a checksum of raw pixels
    from the middle, equal only if the very same exposure came twice."""

    thumb: bytes
    exact: int


def signature(raw: Raw, levels: NDArray[np.float32]) -> Signature:
    """Of a raw and its reduced levels (h, w) in stops."""
    small = cv2.resize(levels, _SIZE, interpolation=cv2.INTER_AREA)
    coded = np.clip(np.rint((small - small.mean()) * 16 + 128), 0, 255).astype(np.uint8)
    height, width = raw.mosaic.shape
    top, left = max(0, height // 2 - _PATCH // 2), max(0, width // 2 - _PATCH // 2)
    patch = raw.mosaic[top : top + _PATCH, left : left + _PATCH]
    return Signature(coded.tobytes(), zlib.crc32(patch.tobytes()))


def same_file(one: Signature, other: Signature) -> bool:
    """True if both came from the very same exposure: no two exposures share their noise."""
    return one.exact == other.exact and one.thumb == other.thumb
