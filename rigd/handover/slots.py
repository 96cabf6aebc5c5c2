"""Workers: processes of their own, one frame at a time each. One that dies costs the time of its frame alone."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any, Protocol, TypeVar

from rigd.errors import RigdError

R = TypeVar("R")
_TRIES = 3
"""A frame whose worker died so often is itself the cause."""
_NICE = 10
"""Below the daemon, whose camera must never wait for a delivery."""


async def in_thread(call: Callable[..., R], *args: Any) -> R:
    """`call` in a thread; a cancelled caller is let go when it has ended, so that nothing goes on behind its back."""
    work = asyncio.ensure_future(asyncio.to_thread(call, *args))
    try:
        return await asyncio.shield(work)
    except asyncio.CancelledError:
        await asyncio.wait([work])
        raise


class WorkerDied(RigdError):
    code = "worker-died"


class Workers(Protocol):
    """Where frames are made. `size`: how many at once."""

    size: int

    async def run(self, slot: int, work: Callable[..., R], *args: Any) -> R:
        """Do `work` in worker number `slot` (0 to size - 1). Raises what it raises, or WorkerDied."""
        ...

    async def close(self) -> None:
        """End the workers; what they were doing is lost."""
        ...


class LocalWorkers:
    """Processes on this machine: each slot its own, so that the end of one does not touch what the others have in
    hand."""

    def __init__(self, size: int | None = None) -> None:
        self.size = size or max(1, os.cpu_count() or 1)
        self._slots: dict[int, ProcessPoolExecutor] = {}

    async def run(self, slot: int, work: Callable[..., R], *args: Any) -> R:
        for _ in range(_TRIES):
            try:
                return await asyncio.get_running_loop().run_in_executor(self._slot(slot), work, *args)
            except BrokenProcessPool:
                self._slots.pop(slot).shutdown(wait=False)
        raise WorkerDied(
            "A worker process ended in the middle of its work, three times.",
            "The system may have ended it for want of memory.",
            "Try with fewer workers: --workers 1.",
        )

    def _slot(self, slot: int) -> ProcessPoolExecutor:
        if slot not in self._slots:
            spawn = multiprocessing.get_context("spawn")
            self._slots[slot] = ProcessPoolExecutor(1, spawn, initializer=_begin)
        return self._slots[slot]

    async def close(self) -> None:
        slots, self._slots = list(self._slots.values()), {}
        for slot in slots:
            await asyncio.to_thread(slot.shutdown, True, cancel_futures=True)


def _begin() -> None:
    """Each worker computes on one core: there are as many workers as cores."""
    import cv2

    os.nice(_NICE)
    cv2.setNumThreads(1)
