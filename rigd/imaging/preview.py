"""Small pictures for the page: the film as it lies on the light table, and a plain positive of it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.imaging.framing import Corners
from rigd.imaging.levels import Three, stops_of
from rigd.imaging.planes import reduce
from rigd.imaging.raw import Raw
from rigd.imaging.transfer import encoded
from rigd.model.words import Colour, Tone

RGB8 = NDArray[np.uint8]
_FLOOR = 2.0**-12
# Highlights and shadows of the display positive end where this share of the picture lies beyond.
_ENDS = (0.5, 99.5)
# The least range that is stretched over the display, in stops: less would show an unexposed frame as a storm of grain.
_LEAST = 1.5


def preview(raw: Raw, tone: Tone, colour: Colour, corners: Corners | None = None, neutral: Three | None = None,
            longest_px: int = 1200) -> tuple[RGB8, RGB8]:
    """(as it lies, as a positive), each (h, w, 3) sRGB bytes of the whole sight, its longer side at most `longest_px`.

    `neutral`: L of the base (negative) or the lamp (positive) in this take, which is shown without colour; None: the
    lightest that the picture holds. `corners`: the picture's, which sets the tones; None: the middle half.
    For the eye only: no colour management, no flat field."""
    small = reduce(raw, longest_px)
    linear = small.linear
    levels = stops_of(linear, _FLOOR)
    inside = _inside(levels, corners, small.step)
    if colour is Colour.MONO:
        levels, inside = _grey(levels), _grey(inside)
    light = np.percentile(inside.reshape(-1, 3), 99.8, axis=0)
    white = np.asarray(neutral if neutral is not None and colour is Colour.COLOUR else light, np.float32)
    as_it_lies = _encoded(levels - white + min(0.0, float(np.min(white - light))))
    if tone is Tone.POSITIVE:
        return as_it_lies, as_it_lies
    return as_it_lies, _inverted(levels, inside)


def _inside(levels: NDArray[np.float32], corners: Corners | None, step: int) -> NDArray[np.float32]:
    height, width = levels.shape[:2]
    if corners is None:
        return levels[height // 4 : height - height // 4, width // 4 : width - width // 4]
    xs, ys = sorted(x / step for x, _ in corners), sorted(y / step for _, y in corners)
    cut = levels[max(0, int(ys[1]) + 2) : max(0, int(ys[2]) - 2), max(0, int(xs[1]) + 2) : max(0, int(xs[2]) - 2)]
    return cut if cut.size else levels


def _grey(levels: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.repeat(levels[:, :, 1:2], 3, axis=2)


def _encoded(levels: NDArray[np.float32]) -> RGB8:
    """sRGB bytes of levels in stops under white (IEC 61966-2-1)."""
    return np.asarray(np.rint(encoded(np.exp2(levels)) * 255), np.uint8)


def _inverted(levels: NDArray[np.float32], inside: NDArray[np.float32]) -> RGB8:
    """Density against the lightest tone of each channel, spread over the display. A negative's density is already
    close to an encoded scale, so it is shown linearly."""
    low, high = (np.percentile(inside.reshape(-1, 3), end, axis=0) for end in _ENDS)
    span = np.maximum(high - low, _LEAST)
    share = np.clip((high - levels) / span, 0.0, 1.0)
    return np.asarray(np.rint(share * 255), np.uint8)


def decode_jpeg(body: bytes) -> RGB8 | None:
    """The picture of a JPEG, (h, w, 3) sRGB bytes; None if it cannot be read."""
    read = cv2.imdecode(np.frombuffer(body, np.uint8), cv2.IMREAD_COLOR_RGB)
    return None if read is None else np.asarray(read, np.uint8)


def no_larger(picture: RGB8, longest_px: int) -> RGB8:
    """The picture, made smaller where its longer side has more pixels than that."""
    scale = min(1.0, longest_px / max(picture.shape[:2]))
    small = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else picture
    return np.ascontiguousarray(small, np.uint8)


def encode_jpeg(picture: RGB8, quality: int = 85) -> bytes:
    """A JPEG of sRGB bytes (h, w, 3)."""
    done, coded = cv2.imencode(".jpg", picture[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not done:
        raise ValueError("the picture could not be encoded")
    return bytes(coded)
