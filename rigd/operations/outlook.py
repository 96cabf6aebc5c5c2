"""Verb of the evening's start: how many frames disk, card and battery still hold, and how many are to come."""

from __future__ import annotations

import asyncio

from msgspec import Struct

from rigd.model.pace import time_words
from rigd.operations.copies import second_copy
from rigd.operations.counting import count_job
from rigd.operations.desk import Desk
from rigd.operations.verb import Nothing, Verb

# Exposures on a full battery with live view between them: ratings by CIPA DC-002 of bodies without a mirror lie
# between 300 and 700 (from memory, no source).
_FULL_BATTERY = 400


class Outlook(Struct, frozen=True):
    """Frames that each still holds; None where it cannot be told. `to_come`: frames of the job that are not taken yet,
    on rolls whose count is known, and `seconds` they take; `words`: the same in sentences."""

    disk: int | None
    card: int | None
    battery: int | None
    to_come: int
    seconds: float
    words: tuple[str, ...]


async def outlook(desk: Desk, args: Nothing, by: str) -> Outlook:
    """How many frames disk, card and battery still hold, and how many are to come."""
    room = await asyncio.to_thread(desk.store.room)
    body = desk.runner.rig.body if desk.runner else None
    card = body.card_free_bytes // room.frame_bytes if body and body.card_free_bytes is not None else None
    battery = None if body is None or body.battery_pct is None else _FULL_BATTERY * body.battery_pct // 100
    job = await count_job(desk, Nothing(), by)
    words = _words(room.frames_left, card, battery, job.left.frames)
    if job.left.frames:
        words.append(f"To come: {job.left.frames} frames, about {time_words(job.left.seconds)}.")
    words.extend(await _second(desk))
    return Outlook(room.frames_left, card, battery, job.left.frames, job.left.seconds, tuple(words))


def _words(disk: int, card: int | None, battery: int | None, to_come: int) -> list[str]:
    parts = [(disk, "the disk", ""), (card, "the camera's card", ""), (battery, "the battery", "about ")]
    known = [f"{what} {about}{frames}" for frames, what, about in parts if frames is not None]
    words = [f"Room for frames: {', '.join(known)}."]
    for frames, what, _ in parts:
        if frames is not None and frames < to_come:
            words.append(f"{what[0].upper()}{what[1:]} does not hold all that is to come.")
    return words


async def _second(desk: Desk) -> list[str]:
    job = desk.state.job
    if job is None or not job.copy_to:
        return []
    _, to = second_copy(desk)
    copied, files = await desk.hub.look.copies(to)
    return [f"Second copy: {copied} of {files} in {to}."]


OUTLOOK = Verb("job/outlook", Nothing, Outlook, outlook, Nothing(), reads=True)

VERBS = (OUTLOOK,)
