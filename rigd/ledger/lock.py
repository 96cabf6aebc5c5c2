"""One owner of a ledger: a file lock that the kernel frees when its process ends, however it ends."""

from __future__ import annotations

import contextlib
import fcntl
import os
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from rigd import paths
from rigd.errors import LedgerHeld


class Holder(Struct, frozen=True):
    """Who owns the ledger: process id, and since when (UTC)."""

    pid: int
    since: datetime


class OwnerLock:
    """The lock on a job's ledger. Held from `take` until `free`, or until the process ends."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor

    @classmethod
    def take(cls, root: Path, now: datetime) -> OwnerLock:
        """Become the owner of the ledger in `root`.

        Raises:
            LedgerHeld: somebody is already; names the process and since when.
        """
        # Python opens with O_CLOEXEC, so no child started afterwards keeps the lock alive.
        descriptor = os.open(paths.lock_file(root), os.O_RDWR | os.O_CREAT, 0o644)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(descriptor)
            raise _held(root) from None
        except OSError:
            os.close(descriptor)
            raise
        _sign(descriptor, msgspec.json.encode(Holder(os.getpid(), now)))
        return cls(descriptor)

    def free(self) -> None:
        """Stop being the owner. The file stays: removing it would let two owners lock two files of one name."""
        _sign(self._descriptor, b"")
        os.close(self._descriptor)


def holder(root: Path) -> Holder | None:
    """Who wrote their name into the lock file last and has not taken it out: the owner, or one that was killed."""
    try:
        return msgspec.json.decode(paths.lock_file(root).read_bytes(), type=Holder)
    except (OSError, msgspec.DecodeError):
        return None


def _sign(descriptor: int, text: bytes) -> None:
    """The name is a courtesy, the lock is what counts: on a full disk it is held without."""
    with contextlib.suppress(OSError):
        os.ftruncate(descriptor, 0)
        os.pwrite(descriptor, text, 0)


def _held(root: Path) -> LedgerHeld:
    who = holder(root)
    by = f"process {who.pid} since {who.since.isoformat(timespec='seconds')}" if who else "another process"
    return LedgerHeld(
        f"The ledger in {root} is held by {by}.",
        "Only one rigd at a time may write a job's ledger.",
        "Use the rigd that is running, or end it first.",
    )
