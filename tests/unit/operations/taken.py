"""Frames that were taken, told to the ledger as the engine tells it, with files in the store."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from pathlib import Path

import numpy as np

from rigd.model import events as ev
from rigd.model.state import RollState
from rigd.model.values import CardFile, Exposure, Frame, Strip, Verdict
from rigd.model.words import Decision, Film, Purpose, Quality
from rigd.operations.desk import Desk
from rigd_sim.rawfile import ShotMeta, encode_dng

WANT = Exposure(1 / 60, "1/60", 8.0, 100)


async def take(
    desk: Desk, frame_id: str, film: Film = Film.PICTURE, quality: Quality = Quality.GOOD, content: bytes | None = None,
    keep: bool = True,
) -> str:  # fmt: skip
    """One take of a frame that has its place, stored, judged and (if so) kept; its id."""
    take_id = f"t-{desk.state.take_count + 1:06d}"
    roll = desk.state.roll_of(frame_id)
    assert roll is not None
    frame = roll.frames[frame_id].frame
    name = f"{roll.roll.folder}-{roll.strips[frame.strip_id].number:03d}-{frame.place:03d}-{take_id}.dng"
    part = desk.store.part_path(roll.roll.folder, take_id)
    part.write_bytes(content if content is not None else f"raw of {take_id}".encode())
    size = part.stat().st_size
    kept = desk.store.secure(part, roll.roll.folder, name, size)
    number = len(roll.frames[frame_id].takes) + 1
    verdict = Verdict(film, quality, "as it should be" if quality is Quality.GOOD else f"it is {quality}")
    events: list[ev.AnyEvent] = [
        ev.ExposureIntended(take_id, frame_id, Purpose.WHOLE, number, WANT),
        ev.Exposed(take_id, 0.3, (CardFile("/DCIM", f"RIG_{take_id[2:]}.DNG", size, "2031-03-09T20:00:00"),)),
        ev.Fetched(take_id, part.name, size),
        ev.Stored(take_id, kept.path, kept.sha256, kept.bytes),
        ev.Judged(take_id, verdict, Decision.KEEP, verdict.why),
    ]
    if keep:
        events.append(ev.KeeperChosen(frame_id, (take_id,), film))
    await desk.hub.append(*events)
    return take_id


async def strip_of(desk: Desk, roll: RollState, number: int, frames: int, places: int | None = None) -> list[str]:
    """A strip with that many frames taken on it; their ids."""
    strip = Strip(f"s-{desk.state.strip_count + 1:04d}", roll.roll.roll_id, number, places or frames)
    await desk.hub.append(ev.StripLoaded(strip))
    ids = []
    for place in range(1, frames + 1):
        frame_id = f"f-{desk.state.frame_count + 1:05d}"
        await desk.hub.append(ev.FramePlaced(Frame(frame_id, roll.roll.roll_id, strip.strip_id, place)))
        await take(desk, frame_id)
        next_place = place + 1 if place < strip.places else None
        await desk.hub.append(ev.Advanced(frame_id, next_place))
        ids.append(frame_id)
    return ids


def files(root: Path) -> dict[str, bytes]:
    """Every raw below a job's folder, by its path."""
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in root.rglob("*.dng")}


def raw_file(root: Path, name: str = "RIG_0099.DNG", folder: str = "unclaimed") -> str:
    """A raw that LibRaw opens, 1/30 s at f/8 and ISO 100, put into a folder of the job past the ledger; its path."""
    meta = ShotMeta(Fraction(1, 30), 8.0, 100, datetime(2031, 3, 9, 20), "RS0000001")
    small = np.zeros((40, 60, 3), np.uint8)
    place = root / folder / name
    place.parent.mkdir(exist_ok=True)
    place.write_bytes(encode_dng(np.full((400, 600), 4000, np.uint16), meta, small, "none"))
    return f"{folder}/{name}"
