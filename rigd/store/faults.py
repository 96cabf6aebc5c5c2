"""The system's errors become rigd's, here and nowhere else."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager

from rigd.errors import DiskFaulty, DiskFull, StoreError

_FULL = (errno.ENOSPC, errno.EDQUOT)


@contextmanager
def translated(doing: str) -> Iterator[None]:
    """A failing call in this block comes out as DiskFull or DiskFaulty; `doing` begins the sentence."""
    try:
        yield
    except OSError as error:
        raise _ours(error, doing) from error


def _ours(error: OSError, doing: str) -> StoreError:
    if error.errno in _FULL:
        return DiskFull(f"{doing}: the disk is full.", "The shot stays on the camera's card.",
                        "Make room on the disk of the job's folder, then go on.")  # fmt: skip
    # Nothing is tried a second time: after EIO the page may be gone, and a second fsync would succeed.
    return DiskFaulty(f"{doing}: the disk failed.", f"{error.strerror or error}.",
                      "Check the disk and its cable; if it happens again, go on with another disk.")  # fmt: skip
