"""The rows that mirror the fold: one for each roll, strip, frame and take, written in the transaction of the event.

They hold nothing that the events do not say, and can be thrown away and built anew.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from rigd.ledger import rows
from rigd.ledger.standing import Share, Standing
from rigd.model.state import REDUCER_VERSION, RollState, State
from rigd.model.tally import Tally, tally
from rigd.model.values import Take

# Raised when the rows for the same fold change: a ledger with another number gets them built anew at its opening.
VERSION = f"3.{REDUCER_VERSION}"
TABLES = ("roll", "strip", "frame", "take", "been", "card_file", "copy")


class Projection:
    """Writes rows for one connection; remembers the tally of rolls, so that the same one is not counted twice."""

    def __init__(self) -> None:
        self._counted: dict[str, tuple[RollState, Tally]] = {}
        self.standing = Standing()
        """Sums over all rolls, kept up to date."""

    def project(self, db: sqlite3.Connection, before: State, after: State) -> None:
        """Write what changed between two states, inside the caller's transaction."""
        if before.rolls is not after.rolls:
            for roll_id in [i for i in before.rolls if i not in after.rolls]:
                self._drop(db, before.rolls[roll_id])
            for roll_id, roll in after.rolls.items():
                old = before.rolls.get(roll_id)
                if old is not roll:
                    self._write_roll(db, old, roll)
        if before.loose is not after.loose:
            _write_takes(db, None, before.loose, after.loose)

    def forget(self, roll_ids: Iterable[str]) -> None:
        """These rolls are out of hand."""
        for roll_id in roll_ids:
            self._counted.pop(roll_id, None)

    def write_all(self, db: sqlite3.Connection, rolls: Iterable[RollState], loose: dict[str, Take]) -> None:
        """Rows for all of these, on empty tables, inside the caller's transaction."""
        for roll in rolls:
            count = tally(roll)
            _write_things(db, None, roll)
            db.execute(rows.ROLL, rows.roll_row(roll, count))
            self.standing.change(None, self._share(roll, count))
        _write_takes(db, None, {}, loose)

    def sum_up(self, db: sqlite3.Connection) -> None:
        """Begin the sums anew from the rows: 40 ms at 25,000 rolls, once at each opening."""
        self.standing = Standing.read(db)

    def clear(self, db: sqlite3.Connection) -> None:
        """Throw all rows away, inside the caller's transaction."""
        for table in TABLES:
            db.execute(f"DELETE FROM {table}")
        self._counted, self.standing = {}, Standing()

    def _write_roll(self, db: sqlite3.Connection, old: RollState | None, new: RollState) -> None:
        _write_things(db, old, new)
        count = tally(new)
        was = self._share(old, self._count_of(old)) if old is not None else None
        self._counted[new.roll.roll_id] = (new, count)
        if old is None or was is None or rows.roll_row(old, was.tally) != rows.roll_row(new, count):
            db.execute(rows.ROLL, rows.roll_row(new, count))
        self.standing.change(was, self._share(new, count))

    def _count_of(self, roll: RollState) -> Tally:
        known = self._counted.get(roll.roll.roll_id)
        return known[1] if known is not None and known[0] is roll else tally(roll)

    def _share(self, roll: RollState, count: Tally) -> Share:
        return Share(roll.roll, roll.closed, count, roll.worked_s, roll.paced)

    def _drop(self, db: sqlite3.Connection, roll: RollState) -> None:
        """A roll that is gone had nothing in it."""
        db.execute("DELETE FROM roll WHERE roll_id = ?", (roll.roll.roll_id,))
        self.standing.change(self._share(roll, self._count_of(roll)), None)
        self._counted.pop(roll.roll.roll_id, None)


def is_current(db: sqlite3.Connection) -> bool:
    """True if the rows were written by this version of the fold and of this module."""
    return bool(db.execute("SELECT value FROM meta WHERE key = 'projection'").fetchone() == (VERSION,))


def set_current(db: sqlite3.Connection) -> None:
    """Say that they are, inside the caller's transaction."""
    db.execute("REPLACE INTO meta VALUES ('projection', ?)", (VERSION,))


def _write_things(db: sqlite3.Connection, old: RollState | None, new: RollState) -> None:
    roll_id = new.roll.roll_id
    strips, frames, takes = (old.strips, old.frames, old.takes) if old else ({}, {}, {})
    for strip_id, strip in new.strips.items():
        if strips.get(strip_id) != strip:
            db.execute(rows.STRIP, rows.strip_row(strip))
    changed = {i for i, take in new.takes.items() if takes.get(i) is not take} if new.takes is not takes else set()
    for frame_id, frame in new.frames.items():
        if frames.get(frame_id) is not frame or not changed.isdisjoint(frame.keeper):
            db.execute(rows.FRAME, rows.frame_row(frame, new))
    _write_takes(db, roll_id, takes, new.takes)
    _note_gone(db, roll_id, "strip", [i for i in strips if i not in new.strips])
    _note_gone(db, roll_id, "frame", [i for i in frames if i not in new.frames])
    _note_gone(db, roll_id, "take", [i for i in takes if i not in new.takes])


def _write_takes(db: sqlite3.Connection, roll_id: str | None, old: dict[str, Take], new: dict[str, Take]) -> None:
    if old is new:
        return
    for take_id, take in new.items():
        was = old.get(take_id)
        if was is not take:
            rows.write_take(db, roll_id, was, take)


def _note_gone(db: sqlite3.Connection, roll_id: str, table: str, ids: list[str]) -> None:
    """They are of another roll now, which has written their rows, or will; that they were of this one is kept."""
    for thing in ids:
        db.execute(f"DELETE FROM {table} WHERE {table}_id = ? AND roll_id = ?", (thing, roll_id))
        db.execute("REPLACE INTO been VALUES (?, ?)", (thing, roll_id))
