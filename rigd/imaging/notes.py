"""What else is worth a word while the film still lies in the gate: dirt, rings, light that struck a part of it."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.dirt import dirt, has_rings
from rigd.imaging.framing import Framed
from rigd.imaging.planes import Box
from rigd.imaging.raw import Raw
from rigd.model.words import Film, Tone

# The rebate beside the picture: from so far to so far beyond its sides (mm), clear of perforations and the gate's edge.
_FROM_MM, _TO_MM = 0.15, 0.6
# Along the film it is looked at in so many pieces; print covers less than half of a piece's rebate.
_PIECES, _CLEAR_OF_PRINT = 16, 80
# Struck rebate is off the rest by this (stops), in at least two pieces in a row and at most so many.
_STRUCK, _LEAST, _MOST = 0.35, 2, 13


class Notes(Struct, frozen=True):
    """`words`: plain sentences; `numbers`: hair_mm or speck_mm with dirt_x, dirt_y (shares of the picture), rings,
    fogged_part."""

    words: tuple[str, ...] = ()
    numbers: dict[str, float] = {}


def notes_of(
    raw: Raw, levels: NDArray[np.float32], step: int, box: Box, place: Framed, film: Film | None, tone: Tone
) -> Notes:
    """Everything worth a word in a take whose film shows a picture or nothing; `levels` (h, w): green, reduced, in
    stops."""
    if film not in (Film.PICTURE, Film.UNEXPOSED):
        return Notes()
    words: list[str] = []
    numbers: dict[str, float] = {}
    left, top, right, bottom = (v // step for v in box)
    inside = np.ascontiguousarray(levels[top:bottom, left:right])
    for found in dirt(raw, box, inside, place.px_per_mm)[:1]:
        words.append(found.words)
        numbers |= {"hair_mm" if found.hair else "speck_mm": found.mm, "dirt_x": found.x, "dirt_y": found.y}
    if has_rings(inside, place.px_per_mm / step):
        words.append("Interference rings lie over it: lift the film off the glass.")
        numbers["rings"] = 1.0
    if film is Film.PICTURE and _struck(levels, step, place, tone):
        words.append("Light has struck a part of the film.")
        numbers["fogged_part"] = 1.0
    return Notes(tuple(words), numbers)


def _struck(levels: NDArray[np.float32], step: int, place: Framed, tone: Tone) -> bool:
    """True if the rebate on both sides of the picture is denser (on a positive: lighter) over a part of its length:
    light from outside does not stop at the picture's edge."""
    if place.corners is None:
        return False
    corners = [np.array(c) / step for c in place.corners]
    tl, tr, br, bl = corners
    mm = place.px_per_mm / step
    # Which way the film runs is not always known: one of the two pairs of sides lies along it.
    pairs = (((tl, tr, bl), (bl, br, tl)), ((tl, bl, tr), (tr, br, tl)))
    return any(all(_uneven(levels, *side, mm, tone) for side in pair) for pair in pairs)


def _uneven(
    levels: NDArray[np.float32], first: NDArray[np.float64], last: NDArray[np.float64], across: NDArray[np.float64],
    mm: float, tone: Tone,
) -> bool:  # fmt: skip
    out = (first - across) / np.hypot(*(first - across))
    depth = np.arange(_FROM_MM * mm, max(_FROM_MM * mm + 2, _TO_MM * mm), 0.5)
    along = np.linspace(0.02, 0.98, _PIECES * 12)
    points = first + along[None, :, None] * (last - first) + depth[:, None, None] * out - 0.5
    x, y = points[:, :, 0].astype(np.float32), points[:, :, 1].astype(np.float32)
    height, width = levels.shape
    if x.min() < 0 or y.min() < 0 or x.max() > width - 1 or y.max() > height - 1:
        return False
    light = np.asarray(cv2.remap(levels, x, y, cv2.INTER_LINEAR)).reshape(len(depth), _PIECES, -1)
    pieces = light.transpose(1, 0, 2).reshape(_PIECES, -1)
    share = _CLEAR_OF_PRINT if tone is Tone.NEGATIVE else 100 - _CLEAR_OF_PRINT
    usual = np.percentile(pieces, share, axis=1)
    clear = float(np.percentile(usual, 90 if tone is Tone.NEGATIVE else 10))
    off = (clear - usual if tone is Tone.NEGATIVE else usual - clear) > _STRUCK
    run = max((len(r) for r in "".join("x" if o else " " for o in off).split()), default=0)
    return run >= _LEAST and int(off.sum()) <= _MOST
