"""The ledger's file, seen by the one thread that owns its connection. Everything here blocks."""

from __future__ import annotations

import contextlib
import gc
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from msgspec import Struct

from rigd import paths
from rigd.errors import InputError, LedgerDamaged, RigdError
from rigd.ledger import checkpoint, projection, records, schema
from rigd.ledger.connection import connect, transaction
from rigd.ledger.faults import translated
from rigd.ledger.files import copy_out, sync_folder
from rigd.model.events import AnyEvent, Committed
from rigd.model.reduce import reduce
from rigd.model.state import State

# A whole check reads every page: about 0.1 s for a file of this size from a slow disk (common practice, no source).
CHECKED_BYTES = 16 << 20
# So many events after the newest checkpoint take 0.05 s to read and fold (measured): time for the next one.
LONG_TAIL = 5000


class Commit(Struct, frozen=True):
    """Events that are durable now, and the fold after them."""

    events: tuple[Committed, ...]
    state: State


class Book:
    """One open ledger file. `state` is the fold of all that is committed."""

    def __init__(self, root: Path, now: datetime) -> None:
        self._root = root
        self._path = paths.ledger_file(root)
        self._broken: RigdError | None = None
        self._saved: State | None = None
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
            self._saved = checkpoint.newest(db, last)
            self.state = self._saved or self.state
        if last < self.state.seq:
            raise LedgerDamaged(f"The ledger ends at event {last}, but event {self.state.seq} had been committed.",
                                "Its file was replaced or lost its end.", "Restore the newest copy.")  # fmt: skip
        for committed in records.read(db, self.state.seq, None):
            self.state = reduce(self.state, committed)
        if not projection.is_current(db):
            with transaction(db):
                projection.rebuild(db, self.state)
        if self._due():
            with contextlib.suppress(sqlite3.Error):  # on a full disk it must open all the same, to be read
                self._save(db)

    def append(self, at: datetime, events: tuple[AnyEvent, ...]) -> Commit:
        """Commit the events in one transaction.

        Raises:
            InputError: an event does not fit the state; nothing was written, and the ledger goes on.
            DiskFull, DiskFaulty: nothing more is taken until `reopen`.
        """
        if self._broken is not None:
            raise type(self._broken)("The ledger takes no more events.", str(self._broken), "Reopen it first.")
        steps = self._folded(at, events)
        try:
            with translated("Writing to the ledger"), transaction(self._db):
                for before, committed, after in steps:
                    records.write(self._db, committed)
                    projection.project(self._db, before, committed.event, after)
        except RigdError as error:
            self._broken = error
            raise
        self.state = steps[-1][2]
        return Commit(tuple(committed for _, committed, _ in steps), self.state)

    def _folded(self, at: datetime, events: tuple[AnyEvent, ...]) -> list[tuple[State, Committed, State]]:
        """Fold first, write afterwards: an event that cannot be folded must never reach the file."""
        steps, state = [], self.state
        for event in events:
            committed = Committed(state.seq + 1, at, event)
            try:
                after = reduce(state, committed)
            except (KeyError, AttributeError) as error:
                raise InputError(
                    f"{type(event).__name__} does not fit what the ledger says so far.",
                    f"It speaks of {error}, which is not known.",
                    "Reload, and try again.",
                ) from error
            steps.append((state, committed, after))
            state = after
        return steps

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

    def totals(self, roll_id: str | None) -> tuple[projection.RollTotals, ...]:
        """The totals of one roll, or of all."""
        with translated("Reading the ledger"):
            return projection.totals(self._db, roll_id)

    def checkpoint(self) -> None:
        """Write a checkpoint, if anything happened since the last one."""
        if self._broken is None and (self._saved is None or self._saved.seq < self.state.seq):
            with translated("Writing to the ledger"):
                self._save(self._db)

    def checkpoint_if_due(self) -> None:
        """The same when much has happened. A failure is left to the next append, which meets the same disk."""
        if self._due():
            with contextlib.suppress(RigdError):
                self.checkpoint()

    def _due(self) -> bool:
        return self.state.seq - (self._saved.seq if self._saved else 0) >= LONG_TAIL

    def _save(self, db: sqlite3.Connection) -> None:
        with transaction(db):
            checkpoint.save(db, self.state, self._saved)
        self._saved = self.state

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
            projection.rebuild(self._db, self.state)

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
