"""A few bytes that tell whether two takes show the same picture."""

from __future__ import annotations

import zlib

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.raw import Raw
from rigd.imaging.texture import Texture

_SIZE = (48, 32)
_PATCH = 512
# Side of the patch of grain, in colour cells.
_GRAIN = 128
# Thumbs of one picture differ by less than this (mean of all places, in 1/16 stop), noise and small shifts included.
_ALIKE = 3.0
# Grain of the same spot of film correlates at least so well between two exposures. That of different film does not
# (1/128 at random), however alike the pictures are; a sensor's own pattern on clear film does, by up to a third.
_SAME_GRAIN = 0.5
# Thumbs of one picture in two exposures correlate over 0.9 by rank, those of two pictures seldom over a half.
_SAME_ORDER = 0.7


class Signature(Struct, frozen=True):
    """`thumb`: 48 x 32 levels as bytes, less their mean, in 1/16 stop around 128. `exact`: a checksum of raw pixels
    from the middle, equal only if the very same exposure came twice; 0 where there is no noise to tell. `grain`:
    128 x 128 bytes (signed) of the finest detail in the middle, grain above all. `texture`: what softness is judged
    by, None for a soft take and where there is none: it must not become the rule."""

    thumb: bytes
    exact: int
    grain: bytes = b""
    texture: Texture | None = None


def signature(raw: Raw, levels: NDArray[np.float32]) -> Signature:
    """Of a raw and its reduced levels (h, w) in stops."""
    small = cv2.resize(levels, _SIZE, interpolation=cv2.INTER_AREA)
    coded = np.clip(np.rint((small - small.mean()) * 16 + 128), 0, 255).astype(np.uint8)
    height, width = raw.mosaic.shape
    top, left = max(0, height // 4 - _PATCH // 4) * 2, max(0, width // 4 - _PATCH // 4) * 2
    patch = raw.mosaic[top : top + _PATCH, left : left + _PATCH]
    exact = zlib.crc32(patch.tobytes()) if float(patch.std()) > 1.0 else 0
    return Signature(coded.tobytes(), exact, _grain(raw, patch))


def _grain(raw: Raw, patch: NDArray[np.uint16]) -> bytes:
    greens = [i for i, channel in enumerate(raw.pattern) if channel == 1]
    side = 2 * _GRAIN
    cut = patch[:side, :side].astype(np.float32)
    if cut.shape != (side, side):
        return b""
    green = np.stack([cut[i // 2 :: 2, i % 2 :: 2] for i in greens]).mean(axis=0)
    fine = green - cv2.blur(green, (5, 5))
    spread = float(np.median(np.abs(fine))) or 1.0
    return bytes(np.clip(np.rint(fine / spread * 16), -127, 127).astype(np.int8).tobytes())


def same_file(one: Signature, other: Signature) -> bool:
    """True if both came from the very same exposure: no two exposures share their noise."""
    return one.exact == other.exact != 0 and one.thumb == other.thumb


def other_picture(one: Signature, other: Signature) -> bool:
    """True if two takes plainly show different pictures, whatever their exposures: the order of light and dark over the
    middle of the sight stays, burnt out or not."""
    here, there = (np.frombuffer(s.thumb, np.uint8).reshape(_SIZE[::-1])[8:24, 12:36].ravel() for s in (one, other))
    ranks = [np.unique(v, return_inverse=True)[1].astype(np.float64) for v in (here, there)]
    if min(float(r.std()) for r in ranks) == 0.0:
        return False
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1]) < _SAME_ORDER


def same_spot(one: Signature, other: Signature) -> bool:
    """True if both show the same spot of film: the film did not move between them, or an old picture came back."""
    here, there = (np.frombuffer(s.thumb, np.uint8).astype(np.float32) for s in (one, other))
    if float(np.abs(here - there).mean()) > _ALIKE or not one.grain or not other.grain:
        return False
    return _correlation(one.grain, other.grain) > _SAME_GRAIN


def _correlation(one: bytes, other: bytes) -> float:
    """The best correlation of two patches of grain over all shifts."""
    shape = (_GRAIN, _GRAIN)
    first, second = (np.frombuffer(g, np.int8).reshape(shape).astype(np.float64) for g in (one, other))
    power = float(np.sqrt((first**2).sum() * (second**2).sum()))
    crossed = np.fft.irfft2(np.fft.rfft2(first) * np.conj(np.fft.rfft2(second)), s=shape)
    return float(crossed.max()) / power if power else 0.0
