"""Positives of takes as they are looked at among others: cut to the picture, small."""

from __future__ import annotations

import asyncio
from statistics import median

from rigd.errors import NotFound, RigdError
from rigd.imaging import decode_jpeg, encode_jpeg, no_larger
from rigd.imaging.preview import RGB8
from rigd.model.state import RollState
from rigd.model.values import Take
from rigd.model.words import Tone
from rigd.operations.desk import Desk
from rigd.operations.looking import picture

# Twice what a picture among others is wide on a phone, for its finer screen.
SMALL_PX = 420

Shares = tuple[float, float, float, float]


async def pixels_of(desk: Desk, roll: RollState, take: Take, longest_px: int) -> RGB8:
    """The positive of a take as the camera saw it, (h, w, 3) sRGB, cut to its picture; where that was not found (an
    unexposed frame has no edges), to where pictures lie on the other takes of the roll.

    Raises:
        NotFound: it has no file. RawUnreadable: its file cannot be decoded.
    """
    jpeg = await picture(desk, take_id=take.take_id, tone=Tone.POSITIVE)
    found = bool(take.verdict and len(take.verdict.corners) == 4)
    return await asyncio.to_thread(_pixels, jpeg, None if found else usual_place(roll), longest_px)


async def small(desk: Desk, take_id: str) -> bytes:
    """A JPEG of the same, small enough to be one of many. Raises as `pixels_of` does."""
    take = await desk.hub.look.take(take_id)
    roll = await desk.hub.look.roll_of(take_id)
    if take is None or roll is None:
        raise NotFound(f"There is no picture of take {take_id}.", "", "Choose a take that is stored.")
    pixels = await pixels_of(desk, roll, take, SMALL_PX)
    return await asyncio.to_thread(encode_jpeg, pixels, 80)


def usual_place(roll: RollState) -> Shares | None:
    """Where pictures of this roll lie, as shares of the sensor (left, top, right, bottom): the middle of what was
    found; None where too few were."""
    known = [t.verdict.corners for t in roll.takes.values() if t.verdict and len(t.verdict.corners) == 4]
    if len(known) < 2:
        return None
    sides = [
        (min(x for x, _ in c), min(y for _, y in c), max(x for x, _ in c), max(y for _, y in c)) for c in known
    ]  # fmt: skip
    left, top, right, bottom = (median(side) for side in zip(*sides, strict=True))
    return left, top, right, bottom


def _pixels(jpeg: bytes, cut: Shares | None, longest_px: int) -> RGB8:
    read = decode_jpeg(jpeg)
    if read is None:
        raise RigdError("A picture that was drawn cannot be read.", "", "Remove the folder .previews of the job.")
    if cut is not None:
        height, width = read.shape[:2]
        left, top, right, bottom = cut
        read = read[int(top * height) : int(bottom * height) + 1, int(left * width) : int(right * width) + 1]
    return no_larger(read, longest_px)
