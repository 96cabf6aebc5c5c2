"""Files of a delivery: under a hidden name until they are whole and on the medium, then under their own."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

from rigd.handover.values import Made
from rigd.store import whole
from rigd.store.faults import translated
from rigd.store.second import ShareDisk

DISK = ShareDisk()
"""A delivery may lie on a disk of whatever file system."""
_FULL = ("What was made before stays, and is not made again.", "Make room there, or name another folder, then go on.")


def put(out: Path, path: str, write: Callable[[Path], int]) -> Made:
    """Let `write` make a file under a hidden name, then give it its own, `path` relative to `out`, at one stroke. A
    file of that name from an earlier run is replaced; folders are made. Raises DiskFull, DiskFaulty."""
    final = out / path
    part = final.with_name(f".{final.name}.part")
    with translated(f"Writing {path}", _FULL):
        final.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        try:
            size = write(part)
            DISK.rename(part, final)
        except BaseException:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
            raise
        DISK.sync_folder(final.parent)
    return Made(path, size)


def put_bytes(out: Path, path: str, body: bytes) -> Made:
    """`put` of a small file whose bytes are there already."""
    final = out / path
    with translated(f"Writing {path}", _FULL):
        final.parent.mkdir(parents=True, exist_ok=True)
        whole.write(DISK, final, body)
        DISK.sync_folder(final.parent)
    return Made(path, len(body))
