"""Checkpoints of the fold: so that a ledger opens without reading all of its events again.

A checkpoint is the state without its rolls, and of each roll the newest copy that is not younger. Only rolls that
changed since the last checkpoint are written, so its cost follows the work done and not the size of the job.
Checkpoints may be thrown away: one that is damaged, or of another version of the fold, is passed over.
"""

from __future__ import annotations

import sqlite3
import zlib

import msgspec
from msgspec.structs import replace

from rigd.model.state import REDUCER_VERSION, RollState, State

# Two: should the newest be damaged, the one before still spares most of the reading.
KEPT = 2

_encode = msgspec.msgpack.Encoder().encode
_decode_head = msgspec.msgpack.Decoder(State).decode
_decode_roll = msgspec.msgpack.Decoder(RollState).decode


def save(db: sqlite3.Connection, state: State, last: State | None) -> None:
    """Write a checkpoint of `state` inside the caller's transaction.

    Args:
        last: the state of the newest checkpoint in the file, or None if there is none that counts.
    """
    if last is None:
        db.execute("DELETE FROM checkpoint")
        db.execute("DELETE FROM checkpoint_roll")
    known = last.rolls if last else {}
    changed = [(n, key, roll) for n, (key, roll) in enumerate(state.rolls.items()) if known.get(key) is not roll]
    for place, roll_id, roll in changed:
        body = _encode(roll)
        db.execute("REPLACE INTO checkpoint_roll VALUES (?, ?, ?, ?, ?)",
                   (roll_id, state.seq, place, zlib.crc32(body), body))  # fmt: skip
    head = _encode(replace(state, rolls={}))
    db.execute("REPLACE INTO checkpoint VALUES (?, ?, ?, ?, ?)",
               (state.seq, REDUCER_VERSION, len(state.rolls), zlib.crc32(head), head))  # fmt: skip
    _prune(db, [roll_id for _, roll_id, _ in changed])


def newest(db: sqlite3.Connection, last_seq: int) -> State | None:
    """The state of the newest checkpoint that is whole, of this fold and not beyond event `last_seq`; None if none."""
    rows = db.execute(
        "SELECT seq, rolls, crc, body FROM checkpoint WHERE reducer_version = ? AND seq <= ? ORDER BY seq DESC",
        (REDUCER_VERSION, last_seq),
    ).fetchall()
    return next((state for row in rows if (state := _load(db, *row)) is not None), None)


def _load(db: sqlite3.Connection, seq: int, count: int, crc: int, body: bytes) -> State | None:
    # With one max() in a query, SQLite takes the other columns from the row of the maximum (lang_select.html).
    rows = db.execute(
        "SELECT roll_id, crc, body, max(seq) FROM checkpoint_roll WHERE seq <= ? GROUP BY roll_id ORDER BY place",
        (seq,),
    )
    try:
        head = _decode_head(_whole(body, crc))
        rolls = {roll_id: _decode_roll(_whole(copy, sum_)) for roll_id, sum_, copy, _ in rows}
    except msgspec.DecodeError:
        return None
    return replace(head, rolls=rolls) if len(rolls) == count and head.seq == seq else None


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
