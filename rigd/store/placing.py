"""Putting a file under its name without ever replacing another, and making folders that stay."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path

from rigd.store.disk import Disk

# What file systems without hard links answer (link(2)).
NO_LINKS = (errno.EPERM, errno.EOPNOTSUPP, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK)


def place_new(disk: Disk, part: Path, final: Path) -> None:
    """Give `part` the name `final` instead of its own; the new name is durable.

    The old one goes only after that, so that there is no moment without either. Should a power cut bring it back, it
    is a second name of one file.

    Raises:
        FileExistsError: the name is taken; nothing was changed.
    """
    try:
        disk.link(part, final)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        _place_without_links(disk, part, final)
        disk.sync_folder(final.parent)
    else:
        disk.sync_folder(final.parent)
        disk.unlink(part)


def _place_without_links(disk: Disk, part: Path, final: Path) -> None:
    """Reserve the name with an empty file, then rename over that."""
    try:
        disk.close(disk.open(final, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        if disk.stat(final).st_size != 0:  # an empty one is a reservation that a crash left behind
            raise
    try:
        disk.rename(part, final)
    except OSError:
        with contextlib.suppress(OSError):
            disk.unlink(final)
        raise


class Folders:
    """Folders below a root, made when they are needed; each is durable before it is used."""

    def __init__(self, root: Path, disk: Disk) -> None:
        self._root = root
        self._disk = disk
        self._durable: set[Path] = set()

    def ready(self, folder: Path) -> Path:
        """`folder` itself, once it and those above it (below the root) exist and are durable.

        A folder that exists may have been made just before a crash: its parent is synced once all the same.
        """
        if folder == self._root or folder in self._durable:
            return folder
        self.ready(folder.parent)
        with contextlib.suppress(FileExistsError):
            self._disk.mkdir(folder)
        self._disk.sync_folder(folder.parent)
        self._durable.add(folder)
        return folder
