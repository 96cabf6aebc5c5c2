"""The system's errors become rigd's, here and nowhere else."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager

from rigd.errors import DiskFaulty, DiskFull, StoreError

_FULL = (errno.ENOSPC, errno.EDQUOT)


JOB_FULL = ("The shot stays on the camera's card.", "Make room on the disk of the job's folder, then go on.")
"""Why nothing is lost where the job's own disk is full, and what to do."""


@contextmanager
def translated(doing: str, full: tuple[str, str] = JOB_FULL) -> Iterator[None]:
    """A failing call in this block comes out as DiskFull or DiskFaulty; `doing` begins the sentence, `full` is said of
    a full disk."""
    try:
        yield
    except OSError as error:
        raise _ours(error, doing, full) from error


def _ours(error: OSError, doing: str, full: tuple[str, str]) -> StoreError:
    if error.errno in _FULL:
        return DiskFull(f"{doing}: the disk is full.", *full)
    # Nothing is tried a second time: after EIO the page may be gone, and a second fsync would succeed.
    return DiskFaulty(f"{doing}: the disk failed.", f"{error.strerror or error}.",
                      "Check the disk and its cable; if it happens again, go on with another disk.")  # fmt: skip
