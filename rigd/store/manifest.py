"""The checksum list of a folder, in the format that `sha256sum --check` reads (GNU coreutils manual, md5sum)."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable
from pathlib import Path

from rigd import paths
from rigd.store.disk import Disk


def lines(entries: Iterable[tuple[str, str]]) -> bytes:
    """The list of (sha256, name) in the order of the names."""
    return b"".join(_line(digest, name) for digest, name in sorted(entries, key=lambda entry: entry[1]))


def write(disk: Disk, folder: Path, body: bytes) -> None:
    """Put the list into `folder` at one stroke: at any moment the old one or the new one is there. Raises OSError."""
    fresh = folder / f".{paths.MANIFEST}.new"
    descriptor = disk.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    try:
        _write_all(disk, descriptor, body)
        disk.fsync(descriptor)
    except OSError:
        with contextlib.suppress(OSError):
            disk.unlink(fresh)
        raise
    finally:
        disk.close(descriptor)
    disk.rename(fresh, folder / paths.MANIFEST)
    disk.sync_folder(folder)


def _write_all(disk: Disk, descriptor: int, body: bytes) -> None:
    left = memoryview(body)
    while left:
        left = left[disk.write(descriptor, left) :]


def _line(digest: str, name: str) -> bytes:
    escaped = name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
    mark = "\\" if escaped != name else ""
    return f"{mark}{digest}  {escaped}\n".encode()
