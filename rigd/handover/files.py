"""Files of a delivery: under a hidden name until they are whole and on the medium, then under their own."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from pathlib import Path

from rigd.handover.values import Made


def put(out: Path, path: str, write: Callable[[Path], int]) -> Made:
    """Let `write` make a file under a hidden name, then give it its own, `path` relative to `out`, at one stroke. A
    file of that name from an earlier run is replaced; folders are made. Raises OSError."""
    final = out / path
    final.parent.mkdir(parents=True, exist_ok=True)
    part = final.with_name(f".{final.name}.part")
    with contextlib.suppress(FileNotFoundError):
        part.unlink()
    try:
        size = write(part)
        part.replace(final)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink()
        raise
    sync_folder(final.parent)
    return Made(path, size)


def put_bytes(out: Path, path: str, body: bytes) -> Made:
    """`put` of bytes that are there already."""
    return put(out, path, lambda part: write_bytes(part, body))


def write_bytes(part: Path, body: bytes) -> int:
    """Write a new file and wait until it is on the medium; its size."""
    with part.open("xb") as file:
        file.write(body)
        file.flush()
        os.fsync(file.fileno())
    return len(body)


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the medium."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
