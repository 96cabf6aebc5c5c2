"""Verbs of the camera's card: what lies on it, and clearing it frame by frame, on request, when all is copied."""

from __future__ import annotations

import asyncio

from msgspec import Struct

from rigd.engine.cardfiles import among, unclaimed_files
from rigd.errors import RigdError
from rigd.model.events_later import CardCleared
from rigd.model.values import CardFile, Take
from rigd.model.words import Stage
from rigd.operations.copies import second_copy
from rigd.operations.desk import Desk
from rigd.operations.finding import known_frame
from rigd.operations.flagging import Some, frame_ids
from rigd.operations.verb import Nothing, Verb
from rigd.store.second import SecondCopy

# Each frame is read twice, from both disks, before it goes: a second each at 60 MB.
_PATIENCE_S = 7200.0


class OnCard(Struct, frozen=True):
    """Files on the card, and how many of them belong to no take of this job."""

    files: int
    unclaimed: int


class Left(Struct, frozen=True):
    """A frame whose file stays on the card, and why."""

    frame_id: str
    why: str


class Cleared(Struct, frozen=True):
    """Frames whose files are off the card now, and those that stay on it."""

    frames: tuple[str, ...]
    left: tuple[Left, ...]


async def on_card(desk: Desk, args: Nothing, by: str) -> OnCard:
    """Look what lies on the camera's card."""
    async with desk.engine().camera_between_orders():
        files = await desk.engine().rig.card.items()
    strange = await unclaimed_files(desk.hub, files)
    return OnCard(len(files), len(strange))


async def clear(desk: Desk, args: Some, by: str) -> Cleared:
    """Erase the files of frames from the camera's card. Each is read back from both disks first; one that is not
    whole on both stays on the card."""
    second, to = second_copy(desk)
    ids = await frame_ids(desk, args)
    done: list[str] = []
    left: list[Left] = []
    async with desk.engine().camera_between_orders():
        there = await desk.engine().rig.card.items()
        for frame_id in ids:
            why = await _clear_frame(desk, frame_id, there, second, to, by)
            if why:
                left.append(Left(frame_id, why))
            else:
                done.append(frame_id)
    return Cleared(tuple(done), tuple(left))


async def _clear_frame(
    desk: Desk, frame_id: str, there: tuple[CardFile, ...], second: SecondCopy, to: str, by: str
) -> str:
    """Why the frame's files stay on the card; "" when they are gone."""
    roll, frame = await known_frame(desk, frame_id)
    takes = [roll.takes[t] for t in frame.takes if t in roll.takes and roll.takes[t].files]
    takes = [take for take in takes if not take.cleared and take.stage is not Stage.LOST]
    for take in takes:
        why = await _unsafe(desk, take, second, to)
        if why:
            return why
    for take in takes:
        for file in take.files:
            if among(file, there):  # else it went before, and rigd had no time to write that down
                await desk.engine().rig.card.remove(file)
        await desk.hub.append(CardCleared(take.take_id, take.files[0].name, by))
    return ""


async def _unsafe(desk: Desk, take: Take, second: SecondCopy, to: str) -> str:
    if take.stage not in (Stage.STORED, Stage.JUDGED):
        return "It is not stored yet."
    if to not in take.copied:
        return "It has no verified second copy yet."
    try:
        await asyncio.to_thread(desk.store.verify, take.path, take.sha256, take.bytes)
        await asyncio.to_thread(second.verify, take.path, take.sha256, take.bytes)
    except RigdError as error:
        return str(error)
    return ""


ON_CARD = Verb("card/look", Nothing, OnCard, on_card, Nothing(), host=True)
CLEAR = Verb("card/clear", Some, Cleared, clear, Some(roll="r-0001"), host=True, patience_s=_PATIENCE_S)

VERBS = (ON_CARD, CLEAR)
