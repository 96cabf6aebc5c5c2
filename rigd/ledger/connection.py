"""The one connection to the ledger's file."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def connect(path: Path) -> sqlite3.Connection:
    """The connection: one for all, that no other can share, and whose commit means written."""
    db = sqlite3.connect(path, timeout=0, isolation_level=None, cached_statements=64)
    try:
        # Nobody else may open it, and the file lock need not be taken anew for each commit.
        db.execute("PRAGMA locking_mode = EXCLUSIVE")
        # PERSIST: the journal keeps its room on a disk that fills up. As quick as TRUNCATE (0.4 ms here).
        db.execute("PRAGMA journal_mode = PERSIST")
        db.execute("PRAGMA synchronous = EXTRA")
        db.execute("PRAGMA fullfsync = ON")  # macOS: through the drive's cache too; nothing elsewhere
        db.execute("PRAGMA cache_size = -16000")  # 16 MB: the inner pages of every index at a million takes
        db.execute("PRAGMA trusted_schema = OFF")
        db.execute("BEGIN EXCLUSIVE")
        db.execute("COMMIT")
    except BaseException:
        db.close()
        raise
    return db


@contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[None]:
    """Commit at the end of the block, or roll back."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
