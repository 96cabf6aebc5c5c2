"""Raws into a delivery: copied, and read on the way, so that a changed one never leaves as if it were whole."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from rigd.errors import FileChanged
from rigd.handover.files import put

_CHUNK = 4 << 20
_RESTORE = "Restore it from a copy."


def copy_checked(source: Path, out: Path, path: str, sha256: str) -> None:
    """Copy a file to `path` under `out`, durable.

    Raises:
        FileChanged: it is gone, or its bytes are not those that were stored; nothing is left. OSError: the disk failed.
    """
    put(out, path, lambda part: _copied(source, part, sha256))


def _copied(source: Path, part: Path, sha256: str) -> int:
    digest, size = hashlib.sha256(), 0
    try:
        reader = source.open("rb", buffering=0)
    except FileNotFoundError:
        raise FileChanged(f"{source.name} is gone.", "It was stored, and is not there now.", _RESTORE) from None
    with reader, part.open("xb", buffering=0) as writer:
        while chunk := reader.read(_CHUNK):
            digest.update(chunk)
            size += writer.write(chunk)
        os.fsync(writer.fileno())
    if digest.hexdigest() != sha256:
        raise FileChanged(f"{source.name} is not what was stored.", "Its checksum is another.", _RESTORE)
    return size
