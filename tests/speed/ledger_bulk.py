"""A ledger of any number of takes, written in bulk: the events that the engine would have written, and rows and
checkpoint as the fold of them has it. Held equal to a ledger that was written event by event (tests/unit/ledger).

Rolls are alike but for their ids and times. So one roll is folded with placeholders for ids, and its events and its
state are filled in for each of the others.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec
from msgspec.structs import replace
from tests.speed.ledger_story import FRAMES, STRIPS, TAKES, beginning, roll_story

from rigd import paths
from rigd.ledger import checkpoint, projection, schema
from rigd.ledger.connection import connect, transaction
from rigd.ledger.projection import Projection
from rigd.model.events import Committed, encode_event
from rigd.model.reduce import fold
from rigd.model.state import RollState, State

START = datetime(2031, 3, 9, 20, 0, tzinfo=UTC)
# Rolls to a transaction: some 100 MB of pages, which is what SQLite keeps track of at one time.
PORTION = 500

_decode_roll = msgspec.json.Decoder(RollState).decode


def names_of(number: int) -> dict[str, str]:
    """The ids of roll `number`, from 1, as the engine would have counted them."""
    s, f, t = (number - 1) * STRIPS, (number - 1) * FRAMES, (number - 1) * TAKES
    return {
        "r": f"r-{number:04d}",
        **{f"s{n}": f"s-{s + n:04d}" for n in range(1, STRIPS + 1)},
        **{f"f{n}": f"f-{f + n:05d}" for n in range(1, FRAMES + 1)},
        **{f"t{n}": f"t-{t + n:06d}" for n in range(1, TAKES + 1)},
        **{f"h{n}": f"{t + n:064x}" for n in range(1, TAKES + 1)},
    }


def events_of(takes: int) -> Iterator[Committed]:
    """The same record one event after the other, one second each."""
    told = [*beginning(), *(event for n in range(1, takes // TAKES + 1) for event in roll_story(names_of(n)))]
    return (Committed(seq, _time(seq), event) for seq, event in enumerate(told, 1))


def write_ledger(root: Path, takes: int) -> None:
    """A new ledger in `root` with so many takes, a multiple of those of one roll, all rolls closed."""
    root.mkdir(parents=True, exist_ok=True)
    db = connect(paths.ledger_file(root))
    try:
        schema.migrate(db, START)
        db.execute("PRAGMA synchronous = OFF")  # nothing is lost that cannot be made again
        _fill(db, takes // TAKES)
    finally:
        db.close()


def _fill(db: sqlite3.Connection, rolls: int) -> None:
    first, rows = list(events_of(0)), Projection()
    pattern = _Pattern(fold(first))
    with transaction(db):
        db.executemany(_EVENT, (_row(one.seq, type(one.event).__name__, encode_event(one.event)) for one in first))
    for start in range(1, rolls + 1, PORTION):
        numbers = range(start, min(start + PORTION, rolls + 1))
        with transaction(db):
            for number in numbers:
                db.executemany(_EVENT, pattern.events(number))
            rows.write_all(db, (pattern.roll(number) for number in numbers), {})
    with transaction(db):
        checkpoint.save(db, pattern.state(rolls), (pattern.roll(n) for n in range(1, rolls + 1)), ())
        projection.set_current(db)


_EVENT = "INSERT INTO event (seq, at, type, body) VALUES (?, ?, ?, ?)"


def _row(seq: int, kind: str, body: bytes | str) -> tuple[int, str, str, str]:
    return seq, _time(seq).isoformat(), kind, body if isinstance(body, str) else body.decode()


def _time(seq: int) -> datetime:
    return START + timedelta(seconds=seq)


class _Pattern:
    """One roll with placeholders for its ids and times, to be filled in for any number."""

    def __init__(self, before: State) -> None:
        self._before = before
        blank = {name: f"%({name})s" for name in names_of(1)}
        story = roll_story(blank)
        self.length = len(story)
        self._events = [(type(event).__name__, encode_event(event).decode()) for event in story]
        committed = (Committed(before.seq + n, _time(before.seq + n), event) for n, event in enumerate(story, 1))
        after = fold(committed, before)
        self._roll = _blank_times(msgspec.json.encode(after.rolls[blank["r"]]).decode(), before.seq, self.length)
        self._times = [int(n) for n in dict.fromkeys(re.findall(r"%\(at(\d+)\)s", self._roll))]

    def events(self, number: int) -> Iterator[tuple[int, str, str, str]]:
        names, seq = names_of(number), self._seq(number)
        return (_row(seq + n, kind, body % names) for n, (kind, body) in enumerate(self._events, 1))

    def roll(self, number: int) -> RollState:
        seq = self._seq(number)
        times = {f"at{n}": _time(seq + n).isoformat() for n in self._times}
        return replace(_decode_roll(self._roll % {**names_of(number), **times}), place=number)

    def state(self, rolls: int) -> State:
        """The fold after so many rolls, with the last of them in hand: it is folded on the counts before it."""
        b, n = self._before, rolls - 1
        before = replace(b, seq=self._seq(rolls), roll_count=n, strip_count=n * STRIPS, frame_count=n * FRAMES,
                         take_count=n * TAKES)  # fmt: skip
        told = enumerate(roll_story(names_of(rolls)), before.seq + 1)
        return fold((Committed(seq, _time(seq), event) for seq, event in told), before)

    def _seq(self, number: int) -> int:
        """The number of the last event before this roll."""
        return self._before.seq + (number - 1) * self.length


def _blank_times(body: str, before: int, count: int) -> str:
    """Placeholders for the times of the roll's events, numbered from 1."""
    known = {_time(before + n).isoformat(): f"%(at{n})s" for n in range(1, count + 1)}
    written = r"2031-03-09T\d\d:\d\d:\d\d(?:Z|\+00:00)"
    return re.sub(written, lambda at: known.get(at[0].replace("Z", "+00:00"), at[0]), body)
