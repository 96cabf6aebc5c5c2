"""The ledger of one job: append events, read them, see the state they fold into."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path

from rigd.ledger.book import Book, Commit
from rigd.ledger.faults import translated
from rigd.ledger.files import make_folder
from rigd.ledger.fitness import require_fit
from rigd.ledger.hand import ROLLS_IN_HAND
from rigd.ledger.lock import OwnerLock
from rigd.ledger.looking import Looking
from rigd.ledger.owner import OwnerThread
from rigd.model.events import AnyEvent, Committed
from rigd.model.state import State

# Events between two looks at whether a checkpoint is due: rare enough to cost nothing.
LOOK_EVERY = 500
Told = Callable[[tuple[Committed, ...]], None]


class Ledger:
    """The only owner of a job's ledger. All methods are called on one event loop; the disk work is in one thread."""

    def __init__(self, thread: OwnerThread, lock: OwnerLock, book: Book, now: Callable[[], datetime]) -> None:
        self._thread = thread
        self._lock = lock
        self._book = book
        self._now = now
        self._state = book.state
        self.look = Looking(thread, book)
        """Look-ups in what the fold alone does not hold: rolls that are out of hand, totals of the job."""
        self.on_commit: Told | None = None
        """Called on the event loop with what was committed, in order and without a gap, before `append` returns;
        also where the caller of `append` was cancelled meanwhile. Must neither block nor raise."""

    @classmethod
    async def open(cls, root: Path, now: Callable[[], datetime], in_hand: int = ROLLS_IN_HAND) -> Ledger:
        """Own the ledger of the job in the folder `root`; make the ledger, and the folder, if there is none.

        Args:
            now: the time of day in UTC; each event gets it at the call of `append`.
            in_hand: how many rolls stay in the fold, beside those that are worked on.

        Raises:
            LedgerHeld: another process owns it.
            UnfitDisk: the file system cannot keep the promises.
            LedgerTooNew, LedgerDamaged: the file cannot be used.
            DiskFull, DiskFaulty: it could not be made or brought up to date.
        """
        thread = OwnerThread("ledger")
        opened: list[tuple[OwnerLock, Book]] = []
        try:
            await thread.submit(partial(_open, root, now(), opened, in_hand))
        except BaseException:  # a failure, or a wait that was cancelled: then the thread may have opened it
            thread.submit(partial(_give_up, opened))
            await thread.end()
            raise
        lock, book = opened[0]
        return cls(thread, lock, book, now)

    @property
    def state(self) -> State:
        """The fold of everything that was committed, with the rolls in hand (all of them, in a job of up to 64)."""
        return self._state

    async def append(self, *events: AnyEvent) -> tuple[Committed, ...]:
        """Commit the events in one transaction; returns when they are durable. Appends keep the order of the calls.

        A wait that is cancelled does not undo them: see `on_commit`.

        Raises:
            InputError: one of them does not fit the state; nothing is written, and the ledger goes on.
            DiskFull, DiskFaulty: the write failed. Nothing more is taken until `reopen`.
        """
        if not events:
            return ()
        return (await self._thread.submit(partial(self._book.append, self._now(), events), self._took)).events

    async def reopen(self) -> tuple[Committed, ...]:
        """Close and open the file again after a failed write, so that appends are taken anew.

        Returns:
            Events of the failed write that are in the file after all: a disk can fail after it has written.

        Raises:
            The same as `open`; the ledger then takes nothing and can be reopened or closed.
        """
        return (await self._thread.submit(partial(self._book.reopen, self._now()), self._took)).events

    async def read(self, after: int = 0, limit: int | None = None) -> list[Committed]:
        """Events with a number over `after`, in order, at most `limit`."""
        return await self._thread.submit(partial(self._book.read, after, limit))

    async def checkpoint(self) -> None:
        """Make the next opening quick. Costs as much as was done since the last one: call it when a roll is closed."""
        await self._thread.submit(self._book.checkpoint)

    async def check(self) -> None:
        """Look at every page and every event of the file; appends wait meanwhile.

        Raises:
            LedgerDamaged: something is not as it was written.
        """
        await self._thread.submit(self._book.check)

    async def rebuild(self) -> None:
        """Write the rows behind `look` anew from the fold."""
        await self._thread.submit(self._book.rebuild)

    async def backup(self, to: Path) -> None:
        """Copy the ledger into the new file `to`, whole and durable; appends wait meanwhile.

        Raises:
            InputError: there is a file of that name.
            DiskFull, DiskFaulty: it could not be written. The ledger itself goes on.
        """
        await self._thread.submit(partial(self._book.backup, to))

    async def close(self) -> None:
        """Finish what is queued, leave a checkpoint, give the ledger free. A second call does nothing."""
        if self._thread.ended:
            return
        try:
            await self._thread.submit(self._book.close)
        finally:
            await self._thread.end()
            self._lock.free()

    def _took(self, commit: Commit) -> None:
        self._state = commit.state
        if commit.events and self.on_commit is not None:
            self.on_commit(commit.events)
        if commit.state.seq % LOOK_EVERY < len(commit.events) and not self._thread.ended:
            self._thread.submit(self._book.checkpoint_if_due)


def _open(root: Path, now: datetime, opened: list[tuple[OwnerLock, Book]], in_hand: int) -> None:
    require_fit(root)
    with translated("Taking the ledger"):
        make_folder(root)
        lock = OwnerLock.take(root, now)
    try:
        opened.append((lock, Book(root, now, in_hand)))
    except BaseException:
        lock.free()
        raise


def _give_up(opened: list[tuple[OwnerLock, Book]]) -> None:
    for lock, book in opened:
        book.close()
        lock.free()
