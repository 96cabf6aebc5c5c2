"""Room that is kept in hand, so that the ledger can still commit when the disk is full."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from rigd.store.disk import Disk
from rigd.store.faults import translated

# A night's events of 2,000 frames are some 6 MB with their rows; ten times that.
SIZE = 64 << 20
_PIECE = 1 << 20


class Ballast:
    """A file that is only there to be given up. Blocking."""

    def __init__(self, path: Path, disk: Disk, size: int = SIZE) -> None:
        self._path = path
        self._disk = disk
        self._size = size

    @property
    def held(self) -> bool:
        """True if the whole room is reserved."""
        try:
            found = self._disk.stat(self._path)
        except FileNotFoundError:
            return False
        # st_blocks counts 512 bytes each (stat(3type)): a file with holes reserves nothing.
        return found.st_size >= self._size and found.st_blocks * 512 >= self._size

    def reserve(self) -> None:
        """Take the room, if it is not taken yet.

        Raises:
            DiskFull: there is not enough; nothing is kept then. DiskFaulty.
        """
        if self.held:
            return
        try:
            with translated("Reserving room for the ledger"):
                self._fill()
        except BaseException:
            with contextlib.suppress(OSError):
                self._disk.unlink(self._path)
            raise

    def release(self) -> bool:
        """Give the room up; True if there was any. Raises DiskFaulty."""
        with translated("Giving up reserved room"):
            try:
                self._disk.unlink(self._path)
            except FileNotFoundError:
                return False
            # Some file systems hand the blocks out again only after the removal is on the medium.
            self._disk.sync_folder(self._path.parent)
        return True

    def _fill(self) -> None:
        descriptor = self._disk.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        try:
            if not self._disk.reserve(descriptor, self._size):
                self._write(descriptor)
            self._disk.fsync(descriptor)
        finally:
            self._disk.close(descriptor)
        self._disk.sync_folder(self._path.parent)

    def _write(self, descriptor: int) -> None:
        """Random bytes: zeros would be compressed away by some file systems."""
        left = self._size
        while left:
            left -= self._disk.write(descriptor, os.urandom(min(_PIECE, left)))
