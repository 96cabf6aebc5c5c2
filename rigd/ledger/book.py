"""The ledger's file, seen by the one thread that owns its connection. Everything here blocks."""

from __future__ import annotations

import contextlib
import gc
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from msgspec import Struct

from rigd import paths
from rigd.errors import InputError, LedgerDamaged, RigdError
from rigd.ledger import checkpoint, projection, records, schema
from rigd.ledger.connection import connect, transaction
from rigd.ledger.faults import translated
from rigd.ledger.files import copy_out, sync_folder
from rigd.ledger.hand import ROLLS_IN_HAND, CopyDamaged, Fetched, Hand, all_rolls
from rigd.ledger.projection import Projection
from rigd.ledger.view import View
from rigd.model.events import AnyEvent, Committed
from rigd.model.reduce import reduce
from rigd.model.state import State

# A whole check reads every page: about 0.1 s for a file of this size from a slow disk (common practice, no source).
CHECKED_BYTES = 16 << 20
# So many events after the newest checkpoint take 0.05 s to read and fold (measured): time for the next one.
LONG_TAIL = 5000
# Events that are read and folded at one stroke: rows of so many make one transaction of a few MB.
PORTION = 2000

T = TypeVar("T")


class Commit(Struct, frozen=True):
    """Events that are durable now, and the fold after them."""

    events: tuple[Committed, ...]
    state: State


class _Step(Struct, frozen=True):
    before: State
    committed: Committed
    after: State
    fetched: Fetched


class Book:
    """One open ledger file. `state` is the fold of all that is committed, with the rolls in hand."""

    def __init__(self, root: Path, now: datetime, in_hand: int = ROLLS_IN_HAND) -> None:
        self._root = root
        self._path = paths.ledger_file(root)
        self._broken: RigdError | None = None
        self._hand = Hand(in_hand)
        self._rows = Projection()
        self._saved = 0
        self.state = State()
        self._db = self._opened(now)

    def _opened(self, now: datetime) -> sqlite3.Connection:
        fresh = not self._path.exists()
        with translated("Opening the ledger"):
            db = connect(self._path)
            try:
                schema.migrate(db, now)
                with _without_collector():
                    self._read_in(db)
            except BaseException:
                db.close()
                raise
            if fresh:
                sync_folder(self._root)
        return db

    def _read_in(self, db: sqlite3.Connection) -> None:
        """Catch the fold up with the file: from the newest checkpoint at first, from where it stands later on."""
        if self._path.stat().st_size <= CHECKED_BYTES:
            records.require_whole(db)
        last = records.last_seq(db)
        if self.state.seq == 0:
            self.state = checkpoint.newest(db, last) or self.state
            self._saved = self.state.seq
            self._hand.begin(self.state)
        if last < self.state.seq:
            raise LedgerDamaged(f"The ledger ends at event {last}, but event {self.state.seq} had been committed.",
                                "Its file was replaced or lost its end.", "Restore the newest copy.")  # fmt: skip
        try:
            self._catch_up(db, last)
        except CopyDamaged:
            self._begin_anew(db)
            self._catch_up(db, last)

    def _catch_up(self, db: sqlite3.Connection, last: int) -> None:
        write_rows = not projection.is_current(db)
        if write_rows:
            with transaction(db):
                self._rows.clear(db)
                self._rows.write_all(db, all_rolls(db, self.state, self._saved), self.state.loose)
        while self.state.seq < last:
            with transaction(db) if write_rows else contextlib.nullcontext():
                self._fold_portion(db, write_rows)
            self._save_quietly(db)
        if write_rows:
            with transaction(db):
                projection.set_current(db)
        self._rows.sum_up(db)
        self._save_quietly(db)

    def _fold_portion(self, db: sqlite3.Connection, write_rows: bool) -> None:
        for committed in list(records.read(db, self.state.seq, PORTION)):
            before, fetched = self._hand.brought(db, self.state, self._saved, committed.event)
            self.state = reduce(before, committed)
            self._hand.took(fetched, self.state)
            if write_rows:
                self._rows.project(db, before, self.state)

    def _begin_anew(self, db: sqlite3.Connection) -> None:
        """A copy is damaged: throw all of them away and fold everything again."""
        with transaction(db):
            checkpoint.clear(db)
            db.execute("DELETE FROM meta WHERE key = 'projection'")
        self.state, self._saved = State(), 0
        self._hand.begin(self.state)

    def _save_quietly(self, db: sqlite3.Connection) -> None:
        """On a full disk it must open all the same, to be read."""
        if self._due():
            with contextlib.suppress(sqlite3.Error):
                self._save(db)

    def append(self, at: datetime, events: tuple[AnyEvent, ...]) -> Commit:
        """Commit the events in one transaction.

        Raises:
            InputError: an event does not fit the state; nothing was written, and the ledger goes on.
            DiskFull, DiskFaulty: nothing more is taken until `reopen`.
        """
        if self._broken is not None:
            raise type(self._broken)("The ledger takes no more events.", str(self._broken), "Reopen it first.")
        steps = self._whole(lambda: self._folded(at, events))
        try:
            with translated("Writing to the ledger"), transaction(self._db):
                for step in steps:
                    records.write(self._db, step.committed)
                    self._rows.project(self._db, step.before, step.after)
        except RigdError as error:
            self._broken = error
            raise
        for step in steps:
            self._hand.took(step.fetched, step.after)
        self.state = steps[-1].after
        return Commit(tuple(step.committed for step in steps), self.state)

    def _folded(self, at: datetime, events: tuple[AnyEvent, ...]) -> list[_Step]:
        """Fold first, write afterwards: an event that cannot be folded must never reach the file."""
        steps, state = [], self.state
        for event in map(records.as_read, events):
            committed = Committed(state.seq + 1, at, event)
            with translated("Reading the ledger"):
                before, fetched = self._hand.brought(self._db, state, self._saved, event)
            try:
                state = reduce(before, committed)
            except (KeyError, AttributeError) as error:
                raise InputError(
                    f"{type(event).__name__} does not fit what the ledger says so far.",
                    f"It speaks of {error}, which is not known.",
                    "Reload, and try again.",
                ) from error
            steps.append(_Step(before, committed, state, fetched))
        return steps

    def _whole(self, call: Callable[[], T]) -> T:
        """What `call` gives; where it meets a damaged copy, after everything was folded again."""
        try:
            return call()
        except CopyDamaged:
            with translated("Reading the ledger"):
                self._begin_anew(self._db)
                self._catch_up(self._db, records.last_seq(self._db))
            return call()

    def reopen(self, now: datetime) -> Commit:
        """Close and open the file again after a failed write; what had been committed after all is returned."""
        had = self.state.seq
        self._db.close()
        try:
            self._db = self._opened(now)
        except RigdError as error:
            self._broken = error
            raise
        self._broken = None
        with translated("Reading the ledger"):
            return Commit(tuple(records.read(self._db, had, None)), self.state)

    def read(self, after: int, limit: int | None) -> list[Committed]:
        """Events after number `after`, at most `limit`."""
        with translated("Reading the ledger"):
            return list(records.read(self._db, after, limit))

    def look(self, query: Callable[[View], T]) -> T:
        """What `query` finds in rows and rolls."""
        with translated("Reading the ledger"):
            return self._whole(lambda: query(View(self._db, self.state, self._saved, self._rows)))

    def checkpoint(self) -> None:
        """Write a checkpoint, if anything happened since the last one."""
        if self._broken is None and self._saved < self.state.seq:
            with translated("Writing to the ledger"):
                self._save(self._db)

    def checkpoint_if_due(self) -> None:
        """The same when much has happened. A failure is left to the next append, which meets the same disk."""
        if self._due():
            with contextlib.suppress(RigdError):
                self.checkpoint()

    def _due(self) -> bool:
        return self.state.seq - self._saved >= LONG_TAIL or len(self.state.rolls) > 2 * self._hand.limit

    def _save(self, db: sqlite3.Connection) -> None:
        with transaction(db):
            if self._saved == 0:
                checkpoint.clear(db)
            checkpoint.save(db, self.state, self._hand.changed(self.state), self._hand.dropped(self.state))
        self._saved = self.state.seq
        had = self.state.rolls
        self.state = self._hand.saved(self.state)
        self._rows.forget(i for i in had if i not in self.state.rolls)

    def check(self) -> None:
        """Look at every page and every event. Slow on a big ledger.

        Raises:
            LedgerDamaged: something is not as it was written.
        """
        with translated("Checking the ledger"):
            records.require_whole(self._db)
            records.require_unbroken(self._db)

    def rebuild(self) -> None:
        """Throw the projections away and write them anew."""
        with translated("Writing to the ledger"), transaction(self._db):
            self._rows.clear(self._db)
            self._rows.write_all(self._db, all_rolls(self._db, self.state, self._saved), self.state.loose)
            projection.set_current(self._db)

    def backup(self, to: Path) -> None:
        """A copy of the whole ledger in the new file `to`."""
        with translated("Copying the ledger"):
            copy_out(self._db, to)

    def close(self) -> None:
        """Leave a checkpoint, if that can be done, and close the file."""
        try:
            self.checkpoint()
        finally:
            self._db.close()


@contextmanager
def _without_collector() -> Iterator[None]:
    """Reading in makes nothing but new objects that stay: looking for garbage among them doubles the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
