"""Verbs that only look: status, pictures, checks, reading files back."""

from __future__ import annotations

import asyncio
from functools import partial

from msgspec import Struct

from rigd.engine.pictures import Counts, Looks, looks_of_file
from rigd.errors import NotFound, StoreError
from rigd.hub import Vitals
from rigd.model.events import Damaged, Verified
from rigd.model.order import film_kind
from rigd.model.state import State
from rigd.model.tally import Tally
from rigd.model.tally import tally as count
from rigd.model.values import Take
from rigd.model.words import Colour, Tone
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll


class Status(Struct, frozen=True):
    """All at one moment: the fold, the current roll's tally, the rig's vitals."""

    state: State
    tally: Tally | None
    vitals: Vitals


class VerifyLine(Struct, frozen=True):
    """One file: `ok`, or what is wrong with it and what to do."""

    take_id: str
    path: str
    ok: bool
    why: str = ""


class VerifyReport(Struct, frozen=True):
    files: int
    bad: int
    lines: tuple[VerifyLine, ...]


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


async def verify(desk: Desk, *, roll_id: str | None = None) -> VerifyReport:
    """Read every stored file back and compare it with the ledger; findings are recorded."""
    only = (await known_roll(desk, roll_id)).roll.roll_id if roll_id is not None else None
    lines: list[VerifyLine] = []
    last = ""
    while page := await desk.hub.look.stored(last, roll_id=only):
        lines.extend([await _verified(desk, take) for take in page])
        last = page[-1].take_id
    return VerifyReport(len(lines), sum(not line.ok for line in lines), tuple(lines))


async def _verified(desk: Desk, take: Take) -> VerifyLine:
    try:
        await asyncio.to_thread(desk.store.verify, take.path, take.sha256, take.bytes)
    except StoreError as error:
        await desk.hub.append(Damaged(take.take_id, str(error)))
        return VerifyLine(take.take_id, take.path, False, str(error))
    if not take.verified:
        await desk.hub.append(Verified(take.take_id))
    return VerifyLine(take.take_id, take.path, True)
