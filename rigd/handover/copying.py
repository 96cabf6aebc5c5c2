"""Raws into a delivery: copied, and read on the way, so that a changed one never leaves as if it were whole."""

from __future__ import annotations

from pathlib import Path

from rigd.errors import FileChanged
from rigd.handover.files import DISK, put
from rigd.store.hashing import copy_file

_RESTORE = "Restore it from a copy."


def copy_checked(source: Path, out: Path, path: str, sha256: str) -> None:
    """Copy a file to `path` under `out`, durable.

    Raises:
        FileChanged: it is gone, or its bytes are not those that were stored; nothing is left. DiskFull, DiskFaulty.
    """
    put(out, path, lambda part: _copied(source, part, sha256))


def _copied(source: Path, part: Path, sha256: str) -> int:
    try:
        found, size = copy_file(DISK, source, part)
    except FileNotFoundError:
        raise FileChanged(f"{source.name} is gone.", "It was stored, and is not there now.", _RESTORE) from None
    if found != sha256:
        raise FileChanged(f"{source.name} is not what was stored.", "Its checksum is another.", _RESTORE)
    return size
