"""Small files that are written whole: at any moment the old one or the new one is there."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from rigd.store.disk import Disk

# End of the hidden name under which a file is written first; a power cut may leave one, to be written over.
FRESH = ".new"


def write(disk: Disk, path: Path, body: bytes) -> None:
    """Put `body` under that name; durable once the folder is synced too. Raises OSError; then the old one is there."""
    fresh = path.with_name(f".{path.name}{FRESH}")
    try:
        _fill(disk, fresh, body)
        disk.rename(fresh, path)
    except OSError:
        with contextlib.suppress(OSError):
            disk.unlink(fresh)
        raise


def _fill(disk: Disk, fresh: Path, body: bytes) -> None:
    descriptor = disk.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    try:
        left = memoryview(body)
        while left:
            left = left[disk.write(descriptor, left) :]
        disk.fsync(descriptor)
    finally:
        disk.close(descriptor)


def read(disk: Disk, path: Path) -> bytes | None:
    """The content of a small file; None if it is not there. Raises OSError."""
    try:
        descriptor = disk.open(path, os.O_RDONLY)
    except FileNotFoundError:
        return None
    try:
        parts, buffer = [], bytearray(1 << 16)
        while count := disk.read_into(descriptor, memoryview(buffer)):
            parts.append(bytes(buffer[:count]))
    finally:
        disk.close(descriptor)
    return b"".join(parts)
