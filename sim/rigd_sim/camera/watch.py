"""Seeing that whoever started this process is gone."""

from __future__ import annotations

import asyncio
import os
import sys
from contextlib import suppress

POLL = 0.5  # s between looks where the system cannot wake us


async def stdin_closed(stop: asyncio.Event) -> None:
    """Set `stop` when standard input ends. What comes in is thrown away."""
    loop = asyncio.get_running_loop()
    reader = asyncio.StreamReader()
    transport, _ = await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
    try:
        while await reader.read(4096):
            pass
        stop.set()
    finally:
        transport.close()


async def parent_gone(pid: int, stop: asyncio.Event) -> None:
    """Set `stop` when the process `pid` has ended, by a descriptor on Linux, by looking elsewhere."""
    with suppress(ProcessLookupError):
        await _process_ended(pid)
    stop.set()


async def _process_ended(pid: int) -> None:
    if hasattr(os, "pidfd_open"):
        await _readable(os.pidfd_open(pid))
        return
    while True:
        os.kill(pid, 0)
        await asyncio.sleep(POLL)


async def _readable(descriptor: int) -> None:
    """A process descriptor becomes readable when its process ends."""
    loop = asyncio.get_running_loop()
    ended = asyncio.Event()
    loop.add_reader(descriptor, ended.set)
    try:
        await ended.wait()
    finally:
        loop.remove_reader(descriptor)
        os.close(descriptor)
