"""Takes at full size, in tiles that are made together and asked for one by one."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from pathlib import Path

from rigd.errors import NotFound
from rigd.imaging import open_raw
from rigd.imaging.tiles import Tiles, tiled
from rigd.model.order import film_kind
from rigd.model.values import Take
from rigd.model.words import Colour, Tone
from rigd.operations.desk import Desk

# One of 60 MP is about 20 MB: the one that is looked at, and the one before it to compare.
_KEPT = 2


class FullSize:
    """Tiles of the takes that were looked at last."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._known: OrderedDict[str, Tiles] = OrderedDict()
        self._one = asyncio.Lock()

    async def of(self, take_id: str) -> Tiles:
        """All tiles of a take; a negative is shown as a positive.

        Raises:
            NotFound: no such take, or it has no file yet. RawUnreadable: its file cannot be decoded.
        """
        async with self._one:
            if take_id not in self._known:
                self._known[take_id] = await self._made(take_id)
                while len(self._known) > _KEPT:
                    self._known.popitem(last=False)
            self._known.move_to_end(take_id)
            return self._known[take_id]

    async def tile(self, take_id: str, row: int, column: int) -> bytes:
        """One JPEG. Raises as `of` does, and NotFound where there is no such tile."""
        found = await self.of(take_id)
        if not (0 <= row < len(found.rows) and 0 <= column < len(found.rows[row])):
            raise NotFound(f"Take {take_id} has no tile {row}, {column}.", "", "Ask how large it is first.")
        return found.rows[row][column]

    async def _made(self, take_id: str) -> Tiles:
        take = await self._desk.hub.look.take(take_id)
        if take is None or not take.path:
            raise NotFound(f"There is no picture of take {take_id}.", "", "Choose a take that is stored.")
        roll = await self._desk.hub.look.roll_of(take.frame_id) if take.frame_id else None
        tone, colour = film_kind(roll, take.frame_id) if roll else (Tone.POSITIVE, Colour.MONO)
        return await asyncio.to_thread(_tiles, self._desk.root / take.path, take, tone, colour)


def _tiles(path: Path, take: Take, tone: Tone, colour: Colour) -> Tiles:
    corners = take.verdict.corners if take.verdict else ()
    return tiled(open_raw(path), corners, tone is Tone.NEGATIVE, colour is Colour.MONO)
