"""Events to rows and back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import datetime

import msgspec

from rigd.errors import InputError, LedgerDamaged, LedgerTooNew, RigdError
from rigd.model.events import AnyEvent, Committed, decode_event, encode_event

_KNOWN = {kind.__name__ for kind in AnyEvent.__args__}


def write(db: sqlite3.Connection, committed: Committed) -> None:
    """Add one event, inside the caller's transaction."""
    body = encode_event(committed.event).decode()
    row = (committed.seq, committed.at.isoformat(), type(committed.event).__name__, body)
    db.execute("INSERT INTO event VALUES (?, ?, ?, ?)", row)


def as_read(event: AnyEvent) -> AnyEvent:
    """The event as it will be read back: what is folded now and what is folded after a restart are one and the same,
    down to the types of its words (a plain string equals a word of the model, but is not one).

    Raises:
        InputError: it could be written, and never read again.
    """
    try:
        read: AnyEvent = decode_event(encode_event(event))
        return read
    except (msgspec.DecodeError, TypeError, ValueError) as error:
        name = type(event).__name__
        raise InputError(f"{name} cannot be written down.", f"{error}.", "Correct what it names.") from error


def read(db: sqlite3.Connection, after: int, limit: int | None) -> Iterator[Committed]:
    """Events with a number over `after`, in order, at most `limit`.

    Raises:
        LedgerDamaged: a number is missing, or an event cannot be read.
        LedgerTooNew: an event of a kind that this rigd does not know.
    """
    # As bytes: text that is no UTF-8 any more is damage, to be found by the decoder.
    query = "SELECT seq, at, CAST(body AS BLOB) FROM event WHERE seq > ? ORDER BY seq LIMIT ?"
    rows = db.execute(query, (after, -1 if limit is None else limit))
    for expected, (seq, at, body) in enumerate(rows, start=after + 1):
        if seq != expected:
            raise _damaged(f"event {expected} is missing")
        try:
            yield Committed(seq, datetime.fromisoformat(at), decode_event(body))
        except (msgspec.DecodeError, ValueError, TypeError) as error:
            raise _unreadable(seq, body, error) from error


def last_seq(db: sqlite3.Connection) -> int:
    """The number of the newest event, 0 for none."""
    return int(db.execute("SELECT coalesce(max(seq), 0) FROM event").fetchone()[0])


def require_whole(db: sqlite3.Connection) -> None:
    """SQLite's own look at every page.

    Raises:
        LedgerDamaged: with the first thing it found.
    """
    found = db.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise _damaged(str(found))


def require_unbroken(db: sqlite3.Connection) -> None:
    """Read every event once.

    Raises:
        LedgerDamaged: a number is missing, or an event cannot be read.
    """
    for _ in read(db, 0, None):
        pass


def _unreadable(seq: int, body: bytes, error: Exception) -> RigdError:
    try:
        kind = msgspec.json.decode(body)["type"]
    except (msgspec.DecodeError, KeyError, TypeError):
        kind = None
    if isinstance(kind, str) and kind not in _KNOWN:
        return LedgerTooNew(f"Event {seq} is of the kind {kind}, which this rigd does not know.",
                            "A newer rigd wrote it.", "Update rigd on this machine.")  # fmt: skip
    return _damaged(f"event {seq} cannot be read: {error}")


def _damaged(why: str) -> LedgerDamaged:
    return LedgerDamaged("The ledger is damaged.", f"Found: {why}.",
                         "Do not write to it. Restore it from a backup; the pictures are untouched.")  # fmt: skip
