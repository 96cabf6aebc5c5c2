"""For tests of the store: temporary files as the camera's worker leaves them, and a disk that fails."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from rigd.store import Disk, Store

RAW = bytes(range(256)) * 1200
SHA = hashlib.sha256(RAW).hexdigest()


def spooled(store: Store, folder: str = "Pier_7", take_id: str = "t-1", content: bytes = RAW) -> Path:
    """A complete temporary file, made with O_EXCL as the camera's worker does."""
    store.root.mkdir(parents=True, exist_ok=True)
    part = store.part_path(folder, take_id)
    with part.open("xb") as file:
        file.write(content)
    return part


def files(root: Path) -> dict[str, bytes]:
    """Every file below `root` with its content."""
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in sorted(root.rglob("*")) if p.is_file()}


class FailingDisk(Disk):
    """The real disk, but for one call: the one with number `at`, counted from 0, fails with `errno`."""

    def __init__(self, at: int | None = None, errno: int = 0) -> None:
        self.calls: list[str] = []
        self._at = at
        self._errno = errno
        self._on = ""

    def __getattribute__(self, name: str) -> object:
        found = super().__getattribute__(name)
        if name in _CALLS:
            super().__getattribute__("_count")(name)
        return found

    def fail_next(self, after: int, errno: int) -> None:
        """From now on: fail the call that comes after so many others."""
        self._at, self._errno = len(self.calls) + after, errno

    def fail_on(self, name: str, errno: int) -> None:
        """From now on: fail every call of that name."""
        self._on, self._errno = name, errno

    def _count(self, name: str) -> None:
        self.calls.append(name)
        if len(self.calls) - 1 == self._at or name == self._on:
            raise OSError(self._errno, os.strerror(self._errno))


# The calls of the seam itself; `sync_folder` is made of them.
_CALLS = {name for name, value in vars(Disk).items() if callable(value) and name != "sync_folder"}
