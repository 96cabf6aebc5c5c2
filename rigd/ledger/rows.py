"""One row a thing, as the fold says it: roll, strip, frame, take."""

from __future__ import annotations

import sqlite3

import msgspec

from rigd.model.state import FrameState, RollState
from rigd.model.tally import Tally, is_retaken, is_suspect, kind_of
from rigd.model.values import About, Strip, Take

ROLL = (
    "REPLACE INTO roll (place, roll_id, label, folder, closed, expected, pictures, unexposed, fogged, skipped, open, "
    "missing, retaken, suspect, takes, again, first_at, last_at, worked_s, paced, words, body) "
    f"VALUES ({', '.join('?' * 22)})"
)
STRIP = "REPLACE INTO strip VALUES (?, ?, ?, ?)"
FRAME = "REPLACE INTO frame VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
TAKE = "REPLACE INTO take VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_FILE = "REPLACE INTO card_file VALUES (?, ?, ?, ?, ?)"
_NOTHING = About()
_COPY = "REPLACE INTO copy VALUES (?, ?)"


def roll_row(roll: RollState, count: Tally) -> tuple[object, ...]:
    plan = roll.roll
    times = (roll.first_at.isoformat() if roll.first_at else None, roll.last_at.isoformat() if roll.last_at else None)
    counts = tuple(getattr(count, name) for name in Tally.__struct_fields__)
    return (roll.place, plan.roll_id, plan.label, plan.folder, roll.closed, *counts, *times, roll.worked_s, roll.paced,
            words_of(roll), msgspec.json.encode(plan).decode())  # fmt: skip


def words_of(roll: RollState) -> str:
    """All text of a roll's plan, and of what is told about single frames, in small letters, one thing a line."""
    plan = roll.roll
    own = (plan.label, plan.film_format, plan.tone, plan.colour, plan.stock, plan.process, plan.where)
    frames = (text for frame in roll.frames.values() if frame.about != _NOTHING for text in told(frame.about))
    return "\n".join(text.casefold() for text in (*own, *told(plan.about), *frames) if text)


def told(about: About) -> list[str]:
    """What is told, field by field, without the empty ones."""
    found: list[str] = []
    for name in About.__struct_fields__:
        value = getattr(about, name)
        found.extend(value if isinstance(value, tuple) else [value] if value else [])
    return found


def strip_row(strip: Strip) -> tuple[object, ...]:
    return strip.strip_id, strip.roll_id, strip.number, strip.places


def frame_row(frame: FrameState, roll: RollState) -> tuple[object, ...]:
    at = frame.frame
    return (at.frame_id, at.roll_id, at.strip_id, at.place, at.mark, kind_of(frame), is_retaken(frame),
            is_suspect(frame, roll), bool(frame.again))  # fmt: skip


def take_row(roll_id: str | None, take: Take) -> tuple[object, ...]:
    return (take.take_id, roll_id, take.frame_id, take.purpose.value, take.number, take.stage.value, take.path,
            take.sha256, take.bytes, take.verified, bool(take.lost_why), take.cleared)  # fmt: skip


def write_take(db: sqlite3.Connection, roll_id: str | None, old: Take | None, take: Take) -> None:
    """The take's row, and those of its files on the card and of its copies where these are new."""
    db.execute(TAKE, take_row(roll_id, take))
    if take.files and (old is None or old.files != take.files):
        db.execute("DELETE FROM card_file WHERE take_id = ?", (take.take_id,)) if old and old.files else None
        files = ((f.name, f.folder, take.take_id, f.bytes, f.taken) for f in take.files)
        db.executemany(_FILE, files)
    if take.copied and (old is None or old.copied != take.copied):
        db.executemany(_COPY, ((to, take.take_id) for to in take.copied))
