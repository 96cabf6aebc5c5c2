"""Verbs of unclaimed files: which there are, which frame one is of, which are of no use."""

from __future__ import annotations

import asyncio
from pathlib import Path

from msgspec import Struct

from rigd import paths
from rigd.errors import InputError, NotFound, RawUnreadable
from rigd.imaging import open_raw
from rigd.model.events import AnyEvent, KeeperChosen, Unclaimed
from rigd.model.events_later import StrayAssigned, StrayDismissed
from rigd.model.state import FrameState, RollState
from rigd.model.values import Exposure, Take
from rigd.model.words import Film, Purpose, Stage
from rigd.operations.desk import Desk
from rigd.operations.finding import between_frames, known_frame
from rigd.operations.verb import Args, Nothing, Verb
from rigd.store.naming import raw_name
from rigd.store.unclaimed import NOTES


class OfFrame(Args, frozen=True):
    """`path` of the file as the list tells it; the frame it is a take of."""

    path: str
    frame: str


class OfNoUse(Args, frozen=True):
    path: str
    why: str


class Stray(Struct, frozen=True):
    """A file that belongs to no take: where it lies, what the camera called it, why it is there. `dismissed`: why
    somebody said that it is of no use, "" if nobody did."""

    path: str
    name: str
    bytes: int
    why: str
    dismissed: str = ""


class Claimed(Struct, frozen=True):
    take_id: str
    frame_id: str
    path: str


async def unclaimed(desk: Desk, args: Nothing, by: str) -> tuple[Stray, ...]:
    """The files that belong to no take: those the ledger knows of, and whatever else lies in their folder."""
    state = desk.state
    known = {path: Stray(path, e.name, e.bytes, e.why) for path, e in state.strays.items()}
    lying = await asyncio.to_thread(_lying, desk.root)
    for path, size in lying.items():
        if path not in known:
            why = "" if path in state.dismissed else "found in the folder; nobody wrote down why"
            known[path] = Stray(path, Path(path).name, size, why, state.dismissed.get(path, ""))
    return tuple(known[path] for path in sorted(known))


async def assign(desk: Desk, args: OfFrame, by: str) -> Claimed:
    """Say of which frame an unclaimed file is a take. It gets its place in the roll's folder; where the frame has no
    keeper yet, it is the keeper."""
    between_frames(desk)
    stray = await _known(desk, args.path)
    roll, frame = await known_frame(desk, args.frame)
    raw = desk.root / stray.path
    exposure = await asyncio.to_thread(_exposure, raw)
    take_id = f"t-{desk.state.take_count + 1:06d}"
    number = len(frame.takes) + 1
    name = _name(roll, frame, number, take_id, raw.suffix, await desk.hub.look.files_in(roll.roll.folder))
    kept = await asyncio.to_thread(desk.store.adopt, stray.path, roll.roll.folder, name)
    take = Take(take_id, args.frame, Purpose.WHOLE, number, exposure, Stage.STORED, path=kept.path, sha256=kept.sha256,
                bytes=kept.bytes, at=desk.clock.now())  # fmt: skip
    events: list[AnyEvent] = [StrayAssigned(stray.path, take, by)]
    if not frame.keeper:
        events.append(KeeperChosen(args.frame, (take_id,), frame.film or Film.PICTURE, by))
    await desk.hub.append(*events)
    await asyncio.to_thread(desk.store.forget_stray, stray.path)
    return Claimed(take_id, args.frame, kept.path)


async def dismiss(desk: Desk, args: OfNoUse, by: str) -> Stray:
    """Say that an unclaimed file is of no use. It stays where it lies."""
    stray = await _known(desk, args.path)
    if not args.why.strip():
        raise InputError("Say why it is of no use.", "", "Such as: a test before the roll began.")
    events: list[AnyEvent] = []
    if stray.path not in desk.state.strays:  # nobody wrote it down so far: the record begins with it
        events.append(Unclaimed(stray.path, stray.name, stray.bytes, stray.why))
    await desk.hub.append(*events, StrayDismissed(stray.path, args.why.strip(), by))
    return stray


async def _known(desk: Desk, path: str) -> Stray:
    found = {stray.path: stray for stray in await unclaimed(desk, Nothing(), "")}
    if path not in found:
        known = ", ".join(found) or "none"
        raise NotFound(f"There is no unclaimed file {path}.", f"Known: {known}.", "Use one of these.")
    return found[path]


def _lying(root: Path) -> dict[str, int]:
    folder = paths.unclaimed_folder(root)
    if not folder.is_dir():
        return {}
    files = [file for file in folder.iterdir() if file.is_file() and file.name != NOTES]
    return {file.relative_to(root).as_posix(): file.stat().st_size for file in files}


def _exposure(path: Path) -> Exposure:
    """What the camera wrote into the file. Raises InputError for one that is no picture."""
    try:
        raw = open_raw(path)
    except RawUnreadable as error:
        remedy = "Dismiss it, or look for a whole copy."
        raise InputError(f"{path.name} cannot be a take.", str(error), remedy) from error
    except OSError as error:
        raise NotFound(f"{path.name} cannot be read.", f"{error.strerror}.", "Look where it went.") from error
    return Exposure(raw.seconds, "", raw.f_number or None, round(raw.iso) or None)


def _name(
    roll: RollState, frame: FrameState, number: int, take_id: str, suffix: str, there: list[tuple[str, str]]
) -> str:
    strip = roll.strips[frame.frame.strip_id]
    name = raw_name(roll.roll.folder, strip.number, frame.frame.place, number, Purpose.WHOLE, suffix)
    if f"{roll.roll.folder}/{name}" not in {path for _, path in there}:
        return name
    stem, _, end = name.rpartition(".")
    return f"{stem}-{take_id}.{end}"


UNCLAIMED = Verb("files/unclaimed", Nothing, tuple[Stray, ...], unclaimed, Nothing(), reads=True)
ASSIGN = Verb("files/assign", OfFrame, Claimed, assign, OfFrame("unclaimed/RIG_0012.DNG", "f-00012"))
DISMISS = Verb("files/dismiss", OfNoUse, Stray, dismiss, OfNoUse("unclaimed/RIG_0012.DNG", "a test"))

VERBS = (UNCLAIMED, ASSIGN, DISMISS)
