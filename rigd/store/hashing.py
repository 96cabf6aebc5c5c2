"""sha256 of a file, from a descriptor."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from rigd.store.disk import Disk

# Larger pieces are no quicker: sha256 runs at 2 GB/s from the second-level cache and above 256 KiB from memory.
PIECE = 1 << 18
# A copy is flushed in pieces of so many bytes: a tenth of a second on a slow disk (80 MB/s, common practice).
_FLUSHED = 8 << 20


def digest(disk: Disk, descriptor: int) -> tuple[str, int]:
    """sha256 (hexadecimal) and number of bytes from the descriptor's position to the end."""
    state, total, buffer = hashlib.sha256(), 0, memoryview(bytearray(PIECE))
    while count := disk.read_into(descriptor, buffer):
        state.update(buffer[:count])
        total += count
    return state.hexdigest(), total


def digest_of(disk: Disk, path: Path, from_medium: bool = False) -> tuple[str, int]:
    """The same of a file; `from_medium`: not from what memory may hold of it."""
    descriptor = disk.open(path, os.O_RDONLY)
    try:
        if from_medium:
            disk.forget(descriptor)
        return digest(disk, descriptor)
    finally:
        disk.close(descriptor)


def flush(disk: Disk, path: Path) -> None:
    """Put what was written to a file on the medium."""
    descriptor = disk.open(path, os.O_RDWR)
    try:
        disk.fsync(descriptor)
    finally:
        disk.close(descriptor)


def digest_and_flush(disk: Disk, path: Path) -> tuple[str, int]:
    """The same, with the file on the medium at the end: hashing and flushing need different parts of the machine."""
    descriptor = disk.open(path, os.O_RDWR)
    try:
        with ThreadPoolExecutor(1, "flush") as pool:
            flushed = pool.submit(disk.fsync, descriptor)
            found = digest(disk, descriptor)
            flushed.result()
    finally:
        disk.close(descriptor)
    return found


def copy_file(disk: Disk, source: Path, target: Path, wait: Callable[[], None] = lambda: None) -> tuple[str, int]:
    """Copy into the new file `target`, which is on the medium at the end; sha256 and size of what was read. `wait` is
    called between pieces. Raises OSError, and what `wait` raises; then `target` is gone again."""
    reading = disk.open(source, os.O_RDONLY)
    try:
        writing = disk.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
        try:
            found = _copied(disk, reading, writing, wait)
            disk.fsync(writing)
        except BaseException:
            with contextlib.suppress(OSError):
                disk.unlink(target)
            raise
        finally:
            disk.close(writing)
    finally:
        disk.close(reading)
    return found


def _copied(disk: Disk, reading: int, writing: int, wait: Callable[[], None]) -> tuple[str, int]:
    """Flushed bit by bit: a great flush at the end would hold up whatever else is to be written."""
    loose = 0
    state, total, buffer = hashlib.sha256(), 0, memoryview(bytearray(PIECE))
    while count := disk.read_into(reading, buffer):
        state.update(buffer[:count])
        total += count
        left = buffer[:count]
        while left:
            left = left[disk.write(writing, left) :]
        loose += count
        if loose >= _FLUSHED:
            disk.fsync(writing)
            loose = 0
        wait()
    return state.hexdigest(), total
