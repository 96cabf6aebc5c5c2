"""The rows that mirror the fold: one for each roll, frame and take, written in the transaction of the event.

They hold nothing that the events do not say, and can be thrown away and built anew.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from msgspec import Struct

from rigd.model.events import AnyEvent, FramePlaced, RollPlanned
from rigd.model.state import REDUCER_VERSION, FrameState, RollState, State
from rigd.model.tally import Tally, tally
from rigd.model.values import Take

# Raised when the rows for the same fold change: a ledger with another number gets them built anew at its opening.
VERSION = f"1.{REDUCER_VERSION}"

_ROLL = (
    "INSERT INTO roll (roll_id, label, folder, expected, closed) VALUES (?, ?, ?, ?, ?) "
    "ON CONFLICT (roll_id) DO UPDATE SET label = excluded.label, folder = excluded.folder, "
    "expected = excluded.expected, closed = excluded.closed"
)
_FRAME = "REPLACE INTO frame VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
_TAKE = "REPLACE INTO take VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_TOTALS = (
    "SELECT roll_id, label, closed, expected, pictures, unexposed, fogged, skipped, open, missing, retaken, suspect, "
    "takes FROM roll_totals"
)


class RollTotals(Struct, frozen=True):
    """The tally of one roll as the ledger's rows say it."""

    roll_id: str
    label: str
    closed: bool
    tally: Tally


def project(db: sqlite3.Connection, before: State, event: AnyEvent, after: State) -> None:
    """Write the rows that `event` changed, inside the caller's transaction."""
    if isinstance(event, RollPlanned):  # a roll that is planned anew starts empty
        _drop_roll(db, event.roll.roll_id)
    for roll_id in _touched(event, after):
        old, new = before.rolls.get(roll_id), after.rolls[roll_id]
        if old is not new:
            _write_roll(db, old, new, event)
    take_id = getattr(event, "take_id", None)
    if take_id in after.loose:
        db.execute(_TAKE, _take_row(None, after.loose[take_id]))


def rebuild(db: sqlite3.Connection, state: State) -> None:
    """Throw all rows away and write those of `state`, inside the caller's transaction."""
    for table in ("roll", "frame", "take"):
        db.execute(f"DELETE FROM {table}")
    db.executemany(_ROLL, (_roll_row(roll) for roll in state.rolls.values()))
    for roll_id, roll in state.rolls.items():
        db.executemany(_FRAME, (_frame_row(frame, roll) for frame in roll.frames.values()))
        db.executemany(_TAKE, (_take_row(roll_id, take) for take in roll.takes.values()))
    db.executemany(_TAKE, (_take_row(None, take) for take in state.loose.values()))
    db.execute("REPLACE INTO meta VALUES ('projection', ?)", (VERSION,))


def is_current(db: sqlite3.Connection) -> bool:
    """True if the rows were written by this version of the fold and of this module."""
    return bool(db.execute("SELECT value FROM meta WHERE key = 'projection'").fetchone() == (VERSION,))


def totals(db: sqlite3.Connection, roll_id: str | None) -> tuple[RollTotals, ...]:
    """The totals of one roll, or of all in the order in which they were planned."""
    if roll_id is None:
        rows = db.execute(f"{_TOTALS} ORDER BY place")
    else:
        rows = db.execute(f"{_TOTALS} WHERE roll_id = ?", (roll_id,))
    return tuple(_totals(*row) for row in rows)


def _totals(roll_id: str, label: str, closed: int, expected: int | None, *counts: float) -> RollTotals:
    return RollTotals(roll_id, label, bool(closed), Tally(expected, *map(int, counts)))


def _touched(event: AnyEvent, after: State) -> Iterable[str]:
    """The rolls that the event may have changed."""
    named = {getattr(event, "roll_id", None), getattr(getattr(event, "roll", None), "roll_id", None), after.roll_id}
    frame_id = getattr(event, "frame_id", None)
    take = after.take(event.take_id) if hasattr(event, "take_id") else None
    for at in (frame_id, take.frame_id if take else None):
        roll = after.roll_of(at) if at else None
        named.add(roll.roll.roll_id if roll else None)
    if isinstance(event, FramePlaced):
        named.add(event.frame.roll_id)
    return [roll_id for roll_id in named if roll_id in after.rolls]


def _write_roll(db: sqlite3.Connection, old: RollState | None, new: RollState, event: AnyEvent) -> None:
    if old is None or _roll_row(old) != _roll_row(new):
        db.execute(_ROLL, _roll_row(new))
    take_id = getattr(event, "take_id", None)
    if take_id in new.takes:
        db.execute(_TAKE, _take_row(new.roll.roll_id, new.takes[take_id]))
    changed: set[str | None] = {f for f, state in new.frames.items() if take_id in state.keeper}
    changed.add(getattr(event, "frame_id", None))
    if isinstance(event, FramePlaced):
        changed.add(event.frame.frame_id)
    for frame_id, frame in new.frames.items():
        if frame_id in changed:
            db.execute(_FRAME, _frame_row(frame, new))


def _drop_roll(db: sqlite3.Connection, roll_id: str) -> None:
    db.execute("DELETE FROM frame WHERE roll_id = ?", (roll_id,))
    db.execute("DELETE FROM take WHERE roll_id = ?", (roll_id,))


def _roll_row(roll: RollState) -> tuple[object, ...]:
    expected = roll.roll.expected[0] if roll.roll.expected else None
    return roll.roll.roll_id, roll.roll.label, roll.roll.folder, expected, roll.closed


def _frame_row(frame: FrameState, roll: RollState) -> tuple[object, ...]:
    """One frame's part in the tally comes from the tally itself, of a roll that holds this frame alone."""
    key = frame.frame.frame_id
    keepers = {take_id: roll.takes[take_id] for take_id in frame.keeper if take_id in roll.takes}
    alone = tally(RollState(roll.roll, frames={key: frame}, takes=keepers))
    kinds = {"picture": alone.pictures, "unexposed": alone.unexposed, "fogged": alone.fogged, "skipped": alone.skipped}
    kind = next((name for name, count in kinds.items() if count), "open")
    place = frame.frame
    return key, place.roll_id, place.strip_id, place.place, place.mark, kind, alone.retaken, alone.suspect


def _take_row(roll_id: str | None, take: Take) -> tuple[object, ...]:
    return (take.take_id, roll_id, take.frame_id, take.purpose.value, take.number, take.stage.value, take.path,
            take.sha256, take.bytes, take.verified)  # fmt: skip
