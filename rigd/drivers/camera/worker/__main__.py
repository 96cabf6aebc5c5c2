"""Start: check whose child this is, then serve the socket."""

from __future__ import annotations

import ctypes
import faulthandler
import os
import signal
import socket
import sys

from rigd.drivers.camera.worker.device import keep_descriptor_zero
from rigd.drivers.camera.worker.loop import Loop

PR_SET_PDEATHSIG = 1  # linux/prctl.h


def end_with(parent: int) -> bool:
    """Have the system kill this process when its parent dies, where it can (Linux); whether the parent still lives.

    Elsewhere the closing socket does it, unless the library hangs with Python's lock held.
    """
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
    return os.getppid() == parent


def main(descriptor: int, parent: int) -> None:
    faulthandler.enable()
    # Ctrl-C in a terminal reaches the whole group; the daemon decides what ends, and in which order.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if not end_with(parent):
        return
    keep_descriptor_zero()
    with socket.socket(fileno=descriptor) as link:
        Loop(link).run()


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
