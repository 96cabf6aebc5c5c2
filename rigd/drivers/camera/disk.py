"""The file that a picture is fetched into: made, and found out about where writing fails."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from rigd.errors import DiskFaulty, DiskFull

PROBE_BYTES = 1 << 20  # the size of the library's own blocks, so a disk that failed it fails us


def create(into: Path) -> int:
    """Make a file that must not exist, open for writing; its descriptor. Raises DiskFaulty."""
    try:
        return os.open(into, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o644)
    except OSError as error:
        raise DiskFaulty(
            f"{into} cannot be made.", f"{error.strerror}.", "Check the job's folder and its permissions."
        ) from error


def room_for(path: Path, size: int) -> None:
    """Raises DiskFull where the file system under `path` cannot take `size` bytes."""
    try:
        disk = os.statvfs(path.parent)
    except OSError:
        return
    free = disk.f_bavail * disk.f_frsize
    if free < size:
        raise _full(f"{free} bytes are free, the picture has {size}")


def writes(descriptor: int) -> None:
    """Write on, where a copy has failed or came out short, to find out whether it was the disk.

    Raises:
        DiskFull, DiskFaulty: it is the disk.
    """
    left = PROBE_BYTES
    try:
        while left:
            left -= os.write(descriptor, bytes(left))
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise _full(str(error.strerror)) from error
        raise DiskFaulty("The picture cannot be written.", f"{error.strerror}.", "Check the disk.") from error


def _full(why: str) -> DiskFull:
    return DiskFull(
        "The disk is full.", f"{why}.", "Make room or choose another disk; the picture stays on the camera's card."
    )
