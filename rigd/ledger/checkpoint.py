"""Checkpoints of the fold: so that a ledger opens without reading all of its events again.

A checkpoint is the state without its rolls, the ids of those in hand, and of each roll the newest copy that is not
younger. Only rolls that changed since the last checkpoint are written, so its cost follows the work done and not the
size of the job; and rolls that are out of hand are read from here. Checkpoints may be thrown away: one that is
damaged, or of another version of the fold, is passed over, and the events are read instead.
"""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterable, Iterator

import msgspec
from msgspec.structs import replace

from rigd.model.state import REDUCER_VERSION, RollState, State

# Two: should the newest be damaged, the one before still spares most of the reading.
KEPT = 2

_encode = msgspec.msgpack.Encoder().encode
_decode_head = msgspec.msgpack.Decoder(State).decode
_decode_roll = msgspec.msgpack.Decoder(RollState).decode
_COPY = "REPLACE INTO checkpoint_roll VALUES (?, ?, ?, ?, ?)"


def clear(db: sqlite3.Connection) -> None:
    """Throw all checkpoints away, inside the caller's transaction."""
    db.execute("DELETE FROM checkpoint")
    db.execute("DELETE FROM checkpoint_roll")


def save(db: sqlite3.Connection, state: State, changed: Iterable[RollState], dropped: Iterable[str]) -> None:
    """Write a checkpoint of `state` inside the caller's transaction.

    Args:
        changed: the rolls in hand that are not as they were in the checkpoint before.
        dropped: the rolls that have gone since.
    """
    written = []
    for roll in changed:
        body = _encode(roll)
        db.execute(_COPY, (roll.roll.roll_id, state.seq, roll.place, zlib.crc32(body), body))
        written.append(roll.roll.roll_id)
    for roll_id in dropped:
        db.execute(_COPY, (roll_id, state.seq, 0, 0, b""))
        written.append(roll_id)
    head = _encode(replace(state, rolls={}))
    hand = msgspec.json.encode(list(state.rolls)).decode()
    db.execute("REPLACE INTO checkpoint VALUES (?, ?, ?, ?, ?, ?)",
               (state.seq, REDUCER_VERSION, _known(db, state.seq), hand, zlib.crc32(head), head))  # fmt: skip
    _prune(db, written)


def newest(db: sqlite3.Connection, last_seq: int) -> State | None:
    """The state of the newest checkpoint that is whole, of this fold and not beyond event `last_seq`, with the rolls
    that were in hand; None if there is none."""
    rows = db.execute(
        "SELECT seq, rolls, hand, crc, body FROM checkpoint WHERE reducer_version = ? AND seq <= ? ORDER BY seq DESC",
        (REDUCER_VERSION, last_seq),
    ).fetchall()
    return next((state for row in rows if (state := _load(db, *row)) is not None), None)


def load_roll(db: sqlite3.Connection, roll_id: str, seq: int) -> RollState | None:
    """A roll as the checkpoint of event `seq` has it; None if that one knows no such roll.

    Raises:
        msgspec.DecodeError: its copy is damaged.
    """
    row = db.execute(
        "SELECT crc, body FROM checkpoint_roll WHERE roll_id = ? AND seq <= ? ORDER BY seq DESC LIMIT 1",
        (roll_id, seq),
    ).fetchone()
    return _decode_roll(_whole(row[1], row[0])) if row is not None and row[1] else None


def roll_ids(db: sqlite3.Connection, seq: int) -> Iterator[str]:
    """The ids of all rolls of the checkpoint of event `seq`, in the order of planning."""
    # With one max() in a query, SQLite takes the other columns from the row of the maximum (lang_select.html).
    rows = db.execute(
        "SELECT roll_id, place, length(body), max(seq) FROM checkpoint_roll WHERE seq <= ? GROUP BY roll_id "
        "ORDER BY place",
        (seq,),
    ).fetchall()
    return (roll_id for roll_id, _, size, _ in rows if size)


def _load(db: sqlite3.Connection, seq: int, count: int, hand: str, crc: int, body: bytes) -> State | None:
    try:
        head = _decode_head(_whole(body, crc))
        found = [load_roll(db, roll_id, seq) for roll_id in msgspec.json.decode(hand, type=list[str])]
    except msgspec.DecodeError:
        return None
    if None in found or head.seq != seq or _known(db, seq) != count:
        return None
    return replace(head, rolls={roll.roll.roll_id: roll for roll in found if roll is not None})


def _known(db: sqlite3.Connection, seq: int) -> int:
    """How many rolls there ever were, those that were dropped included; from the index alone."""
    query = "SELECT count(DISTINCT roll_id) FROM checkpoint_roll WHERE seq <= ?"
    return int(db.execute(query, (seq,)).fetchone()[0])


def _whole(body: bytes, crc: int) -> bytes:
    if zlib.crc32(body) != crc:
        raise msgspec.DecodeError("checksum differs")
    return body


def _prune(db: sqlite3.Connection, roll_ids: list[str]) -> None:
    """Drop checkpoints beyond those kept, and copies of these rolls that none of the kept ones needs."""
    kept = [row[0] for row in db.execute("SELECT seq FROM checkpoint ORDER BY seq DESC LIMIT ?", (KEPT,))]
    oldest = kept[-1]
    db.execute("DELETE FROM checkpoint WHERE seq < ?", (oldest,))
    db.executemany(
        "DELETE FROM checkpoint_roll WHERE roll_id = ?1 AND seq < "
        "(SELECT max(seq) FROM checkpoint_roll WHERE roll_id = ?1 AND seq <= ?2)",
        ((roll_id, oldest) for roll_id in roll_ids),
    )
