"""SQLite's errors become rigd's, here and nowhere else."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from rigd.errors import DiskFaulty, DiskFull, LedgerDamaged, LedgerError, LedgerHeld, RigdError

# Primary result codes (https://www.sqlite.org/rescode.html): the low byte of an extended one.
_FULL = {sqlite3.SQLITE_FULL}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_FAULTY = {sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM}


@contextmanager
def translated(doing: str) -> Iterator[None]:
    """Errors of SQLite and of the system in this block come out as rigd's; `doing` begins the sentence."""
    try:
        yield
    except sqlite3.Error as error:
        raise _of_sqlite(error, doing) from error
    except OSError as error:
        raise _of_system(error, doing) from error


def _of_sqlite(error: sqlite3.Error, doing: str) -> RigdError:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    name = getattr(error, "sqlite_errorname", "")
    if code in _FULL:
        return _full(doing)
    if code in _DAMAGED:
        return LedgerDamaged(f"{doing}: the ledger is damaged ({error}).", "Its file is not what was written.",
                             "Do not write to it. Restore it from a backup; the pictures are untouched.")  # fmt: skip
    if code in _BUSY:
        return LedgerHeld(f"{doing}: another program has the ledger's file open.",
                          "Even a reader stops rigd from writing.", "Close that program.")  # fmt: skip
    if code in _FAULTY:
        return _faulty(doing, f"{error} ({name})")
    return LedgerError(f"{doing}: {error}.", "This should not happen.", "Please report it, with the ledger.")


def _of_system(error: OSError, doing: str) -> RigdError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return _full(doing)
    return _faulty(doing, str(error))


def _full(doing: str) -> DiskFull:
    return DiskFull(f"{doing}: the disk is full.", "There was no room for the ledger's next page.",
                    "Make room on the disk of the job's folder, then go on.")  # fmt: skip


def _faulty(doing: str, why: str) -> DiskFaulty:
    return DiskFaulty(f"{doing}: the disk failed.", why, "Check the disk and its cable; go on from a copy if in doubt.")
