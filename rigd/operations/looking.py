"""Verbs that only look: status, pictures, checks, reading files back."""

from __future__ import annotations

import asyncio
from functools import partial

from msgspec import Struct

from rigd.engine.pictures import Counts, Looks, looks_of_file
from rigd.errors import NotFound
from rigd.hub import Vitals
from rigd.model.order import film_kind
from rigd.model.state import State
from rigd.model.tally import Tally
from rigd.model.tally import tally as count
from rigd.model.words import Colour, Tone
from rigd.operations.desk import Desk


class Status(Struct, frozen=True):
    """All at one moment: the fold, the current roll's tally, the rig's vitals."""

    state: State
    tally: Tally | None
    vitals: Vitals


async def status(desk: Desk) -> Status:
    """How everything stands."""
    roll = desk.state.roll
    return Status(desk.state, count(roll) if roll else None, desk.hub.vitals)


async def picture(desk: Desk, *, take_id: str, tone: Tone) -> bytes:
    """A small JPEG of a take, as it lies on the light table or as a positive. A positive that was drawn before is not
    drawn again.

    Raises:
        NotFound: no such take, or it has no file yet. RawUnreadable: its file cannot be decoded.
    """
    kind = await _kind_of(desk, take_id) if tone is Tone.POSITIVE else None
    known = await asyncio.to_thread(desk.store.previews.read, take_id, *kind) if kind else None
    if known is not None:
        return known
    pair, _ = await _looks(desk, take_id)
    if kind is not None:
        await asyncio.to_thread(desk.store.previews.keep, take_id, *kind, pair[tone.value])
    return pair[tone.value]


async def _kind_of(desk: Desk, take_id: str) -> tuple[Tone, Colour] | None:
    """Tone and colour of the film of a stored take of a frame; None for any other take."""
    take = await desk.hub.look.take(take_id)
    roll = await desk.hub.look.roll_of(take.frame_id) if take and take.path and take.frame_id else None
    return film_kind(roll, take.frame_id) if roll and take else None


async def histogram(desk: Desk, *, take_id: str) -> Counts:
    """Counts of R, G, B in sixths of a stop from -12 stops to saturation. Raises as `picture` does."""
    _, counts = await _looks(desk, take_id)
    return counts


async def _looks(desk: Desk, take_id: str) -> Looks:
    take = await desk.hub.look.take(take_id)
    if take is None or not take.path:
        raise NotFound(f"There is no picture of take {take_id}.", "", "Choose a take that is stored.")
    pictures = desk.runner.rig.pictures if desk.runner else None
    known = await pictures.of(take_id) if pictures else None
    if known is not None:
        return known
    roll = await desk.hub.look.roll_of(take.frame_id) if take.frame_id else None
    tone, colour = film_kind(roll, take.frame_id) if roll else (Tone.NEGATIVE, Colour.MONO)
    corners = take.verdict.corners if take.verdict else ()
    work = partial(looks_of_file, desk.root / take.path, tone, colour, corners)
    return await (pictures.draw(take_id, work) if pictures else asyncio.to_thread(work))
