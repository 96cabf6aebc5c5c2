"""The few file operations that the ledger does beside SQLite."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

from rigd.errors import InputError


def sync_folder(folder: Path) -> None:
    """Make the names in `folder` durable."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def make_folder(folder: Path) -> None:
    """Make `folder` and those above it, where missing, so that they stay."""
    if not folder.is_dir():
        make_folder(folder.parent)
        folder.mkdir(exist_ok=True)
        sync_folder(folder.parent)


def copy_out(db: sqlite3.Connection, to: Path) -> None:
    """Write the whole database into the new file `to`, which is complete and durable as soon as it has that name.

    Raises:
        InputError: there is a file of that name.
    """
    if to.exists():
        raise InputError(f"There is a file {to} already.", "A copy never replaces one.", "Give another name.")
    fresh = to.with_name(f".{to.name}.new")
    fresh.unlink(missing_ok=True)
    db.execute("VACUUM INTO ?", (str(fresh),))
    descriptor = os.open(fresh, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    fresh.rename(to)
    sync_folder(to.parent)
