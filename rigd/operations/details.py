"""A look at single pixels of a take: its middle and its corners at full size."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from pathlib import Path

from rigd.errors import NotFound
from rigd.imaging import encode_jpeg, open_raw
from rigd.imaging.detail import SPOTS, detail, spot_of
from rigd.model.values import Take
from rigd.model.words import Colour, Tone
from rigd.operations.desk import Desk

# Decoding is what costs: the five pieces of the last takes are kept, about 300 KB each take.
_KEPT = 4

Pieces = dict[str, bytes]


class Details:
    """Pieces of takes, made when they are asked for first."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._known: OrderedDict[str, Pieces] = OrderedDict()
        self._one = asyncio.Lock()

    async def of(self, take_id: str, spot: str) -> bytes:
        """A JPEG of one piece; a negative is shown as a positive.

        Raises:
            NotFound: no such take or spot, or it has no file yet. RawUnreadable: its file cannot be decoded.
        """
        if spot not in SPOTS:
            raise NotFound(f"There is no spot {spot}.", "", f"Use one of: {', '.join(SPOTS)}.")
        async with self._one:
            if take_id not in self._known:
                self._known[take_id] = await self._made(take_id)
                if len(self._known) > _KEPT:
                    self._known.popitem(last=False)
            return self._known[take_id][spot]

    async def _made(self, take_id: str) -> Pieces:
        take = await self._desk.hub.look.take(take_id)
        if take is None or not take.path:
            raise NotFound(f"There is no picture of take {take_id}.", "", "Choose a take that is stored.")
        roll = await self._desk.hub.look.roll_of(take.frame_id) if take.frame_id else None
        tone, colour = (roll.roll.tone, roll.roll.colour) if roll else (Tone.POSITIVE, Colour.MONO)
        return await asyncio.to_thread(_pieces, self._desk.root / take.path, take, tone, colour)


def _pieces(path: Path, take: Take, tone: Tone, colour: Colour) -> Pieces:
    raw = open_raw(path)
    corners = take.verdict.corners if take.verdict else ()
    inverted, grey = tone is Tone.NEGATIVE, colour is Colour.MONO
    return {spot: encode_jpeg(detail(raw, spot_of(corners, spot), inverted, grey), 90) for spot in SPOTS}
