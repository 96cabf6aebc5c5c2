"""A pseudo terminal in the place of the board's USB port, and the link that names it."""

from __future__ import annotations

import os
import select
import tty
from pathlib import Path


class Terminal:
    """The board's end. `path` is a link to the host's end; it is made anew each time the cable is plugged in."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._master: int | None = None
        self.plug()

    def plug(self) -> None:
        """Raises OSError, also if the link cannot be made."""
        if self._master is not None:
            return
        master, slave = os.openpty()
        tty.setraw(slave)
        self._path.unlink(missing_ok=True)
        self._path.symlink_to(os.ttyname(slave))
        os.close(slave)  # from now on the master can tell whether somebody has it open
        os.set_blocking(master, False)
        self._master = master

    def unplug(self) -> None:
        if self._master is not None:
            self._path.unlink(missing_ok=True)
            os.close(self._master)
            self._master = None

    def opened(self) -> int | None:
        """The descriptor to wait on while a host has the port open, else None."""
        if self._master is None:
            return None
        poll = select.poll()
        poll.register(self._master, select.POLLIN)
        return None if any(flags & select.POLLHUP for _, flags in poll.poll(0)) else self._master

    def read(self) -> bytes:
        """What the host has sent since the last time; empty if nothing, or nobody is there."""
        found = b""
        if self._master is not None:
            try:
                while chunk := os.read(self._master, 4096):
                    found += chunk
            except OSError:  # nothing more (EAGAIN), or no host (EIO)
                pass
        return found

    def write(self, data: bytes) -> int:
        """Send; how many bytes went. A port that nobody empties loses the rest, as a real one does."""
        if self._master is None:
            return 0
        try:
            return os.write(self._master, data)
        except OSError:
            return 0
