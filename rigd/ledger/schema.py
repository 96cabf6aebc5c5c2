"""The numbered schema of a ledger file, and the way from each number to the next.

A number that was ever released is never changed: a new one is added, with the statements that lead to it, and a
ledger of the old number is kept in tests/data/ledgers/.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import datetime

from rigd.errors import LedgerDamaged, LedgerTooNew
from rigd.ledger.schema_v2 import V2

# "rigd" in ASCII: tells a ledger from any other SQLite file (PRAGMA application_id).
APPLICATION_ID = 0x72696764

V1 = (
    # The record. `at` is ISO 8601 in UTC, `body` the event as JSON: readable without this program.
    "CREATE TABLE event (seq INTEGER PRIMARY KEY, at TEXT NOT NULL, type TEXT NOT NULL, body TEXT NOT NULL)",
    "CREATE TRIGGER event_stays BEFORE UPDATE ON event BEGIN SELECT raise(ABORT, 'events are never changed'); END",
    "CREATE TRIGGER event_is_kept BEFORE DELETE ON event BEGIN SELECT raise(ABORT, 'events are never deleted'); END",
    # Projections: what the fold says, one row a thing, so that totals are one query. Rebuilt from events at will.
    "CREATE TABLE roll (place INTEGER PRIMARY KEY, roll_id TEXT NOT NULL UNIQUE, label TEXT NOT NULL, "
    "folder TEXT NOT NULL, expected INTEGER, closed INTEGER NOT NULL)",
    "CREATE TABLE frame (frame_id TEXT PRIMARY KEY, roll_id TEXT NOT NULL, strip_id TEXT NOT NULL, "
    "place INTEGER NOT NULL, mark TEXT NOT NULL, kind TEXT NOT NULL, retaken INTEGER NOT NULL, "
    "suspect INTEGER NOT NULL) WITHOUT ROWID",
    "CREATE TABLE take (take_id TEXT PRIMARY KEY, roll_id TEXT, frame_id TEXT, purpose TEXT NOT NULL, "
    "number INTEGER NOT NULL, stage TEXT NOT NULL, path TEXT NOT NULL, sha256 TEXT NOT NULL, "
    "bytes INTEGER NOT NULL, verified INTEGER NOT NULL) WITHOUT ROWID",
    # Both hold every column the view asks for, so that it never touches the tables.
    "CREATE INDEX frame_of_roll ON frame (roll_id, kind, retaken, suspect)",
    "CREATE INDEX take_of_roll ON take (roll_id, stage)",
    """CREATE VIEW roll_totals AS
    SELECT *, CASE WHEN expected IS NULL THEN skipped + open
                   ELSE max(0, expected - pictures - unexposed - fogged) END AS missing
    FROM (
        SELECT roll.place, roll.roll_id, roll.label, roll.closed, roll.expected,
               total(frame.kind = 'picture') AS pictures, total(frame.kind = 'unexposed') AS unexposed,
               total(frame.kind = 'fogged') AS fogged, total(frame.kind = 'skipped') AS skipped,
               total(frame.kind = 'open') AS open, total(frame.retaken) AS retaken, total(frame.suspect) AS suspect,
               (SELECT count(*) FROM take
                 WHERE take.roll_id = roll.roll_id AND take.stage IN ('stored', 'judged')) AS takes
        FROM roll LEFT JOIN frame ON frame.roll_id = roll.roll_id
        GROUP BY roll.roll_id
    )""",
    # Checkpoints of the fold: the state without its rolls, and each roll as it was at its last change.
    "CREATE TABLE checkpoint (seq INTEGER PRIMARY KEY, reducer_version INTEGER NOT NULL, rolls INTEGER NOT NULL, "
    "crc INTEGER NOT NULL, body BLOB NOT NULL)",
    "CREATE TABLE checkpoint_roll (roll_id TEXT NOT NULL, seq INTEGER NOT NULL, place INTEGER NOT NULL, "
    "crc INTEGER NOT NULL, body BLOB NOT NULL, UNIQUE (roll_id, seq))",
    "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID",
)

STEPS: tuple[tuple[str, ...], ...] = (V1, V2)
"""STEPS[n] leads from schema number n to n + 1; number 0 is an empty file."""


def migrate(db: sqlite3.Connection, now: datetime, steps: Sequence[tuple[str, ...]] = STEPS) -> int:
    """Bring the file to the newest schema number, each step in one transaction; returns the number it had.

    Raises:
        LedgerTooNew: a newer rigd wrote it.
        LedgerDamaged: it is a database, but not a ledger.
    """
    had = int(db.execute("PRAGMA user_version").fetchone()[0])
    _require_ours(db, had)
    if had > len(steps):
        raise LedgerTooNew(
            f"This ledger has schema number {had}; this rigd knows numbers up to {len(steps)}.",
            "A newer rigd wrote it.",
            "Update rigd on this machine.",
        )
    for number in range(had, len(steps)):
        _step(db, number + 1, steps[number], now)
    return had


def _require_ours(db: sqlite3.Connection, number: int) -> None:
    tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    ours = db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    if ours or (number == 0 and tables == 0):
        return
    raise LedgerDamaged(
        "The file in the ledger's place is not a ledger.",
        "It is a database of another kind, or its first page is damaged.",
        "Put the right file back, or restore the ledger from a backup.",
    )


def _step(db: sqlite3.Connection, number: int, statements: tuple[str, ...], now: datetime) -> None:
    db.execute("BEGIN IMMEDIATE")
    try:
        for statement in statements:
            db.execute(statement)
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute(f"PRAGMA user_version = {number}")
        db.execute("INSERT INTO meta VALUES (?, ?)", (f"schema {number} since", now.isoformat()))
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
