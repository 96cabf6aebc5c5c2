"""The second copy: made file by file while no take is in hand, read back, and gone on with after whatever happened."""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
import threading
from collections import deque
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace

from rigd import paths
from rigd.errors import FileChanged, RigdError
from rigd.hub import Hub, Subscription
from rigd.model import events as ev
from rigd.model.events_later import Copied, StrayAssigned
from rigd.model.values import Take
from rigd.ports import Clock
from rigd.store import Store
from rigd.store.papers import FRAMES, JOB, ROLL
from rigd.store.second import SecondCopy
from rigd.store.sidecar import sidecar_name

T = TypeVar("T")

# A disk that was pulled out is looked for so often.
AGAIN_S = 10.0
# While a take is in hand the copier looks so often whether it has ended.
_LOOK_S = 0.05
_PAGE = 200
# The lowest priority but those of the idle class: setpriority(2).
_NICE = 15


class _Ended(Exception):
    """The copier must end now."""


class Copying:
    """Copies every stored file of the job to `job.copy_to`, if that is set. `idle`: no take is in hand."""

    def __init__(self, hub: Hub, store: Store, clock: Clock, idle: Callable[[], bool]) -> None:
        self._hub = hub
        self._store = store
        self._clock = clock
        self._idle = idle
        self._wake = asyncio.Event()
        self._ended = threading.Event()
        self._one_at_a_time = asyncio.Lock()
        self._stale: set[str] = set()
        self._due: deque[str] = deque()
        self._ask_all = True
        self._counted: tuple[int, int] | None = None
        self._counted_at = 0

    async def run(self) -> None:
        """Runs until it is cancelled; wakes with whatever is stored."""
        with ThreadPoolExecutor(1, "copy", _humble) as pool:
            try:
                async with asyncio.TaskGroup() as group:
                    working = group.create_task(self._working(pool), name="copying")
                    await self._hub.follow(self._follow)
                    working.cancel()
            finally:
                self._ended.set()  # the piece in hand is the last: the pool is waited for

    async def catch_up(self) -> int:
        """Copy all that is due now, whether the rig is idle or not; how many were copied.

        Raises:
            CopyGone, DiskFull, DiskFaulty, FileChanged: with the first that could not be.
        """
        self.ask_again()
        with ThreadPoolExecutor(1, "copy", _humble) as pool:
            return await self._round(pool, lambda: None)

    def papers_written(self, folders: set[str]) -> None:
        """The papers in these folders say something else than they did."""
        self._stale |= folders
        self._wake.set()

    async def tell(self) -> None:
        """Put the numbers into the vitals. They are asked of the ledger once, and kept up to date from then on."""
        to = self._to()
        while to and self._counted is None:
            self._counted_at = self._hub.state.seq
            counted = await self._hub.look.copies(to)
            # What was committed while it was counted may be in it or not: count again.
            self._counted = counted if self._hub.state.seq == self._counted_at else None
        done, total = self._counted if to and self._counted else (None, None)
        self._notice(copied=done, to_copy=total)

    def ask_again(self) -> None:
        """What is due, and how much there is, is asked of the ledger anew."""
        self._ask_all, self._counted = True, None
        self._due.clear()

    async def _follow(self, listener: Subscription) -> None:
        self.ask_again()
        self._wake.set()
        async for item in listener:
            event = getattr(item, "event", None)
            if isinstance(event, ev.JobOpened):
                self.ask_again()
            elif isinstance(event, ev.Stored | StrayAssigned):
                self._due.append(event.take_id if isinstance(event, ev.Stored) else event.take.take_id)
                self._count(0, getattr(item, "seq", 0) > self._counted_at)
            else:
                continue
            self._wake.set()

    async def _working(self, pool: ThreadPoolExecutor) -> None:
        while True:
            await self._wake.wait()
            self._wake.clear()
            await self.tell()
            if not self._to():
                self._notice(copy_trouble="")
                continue
            try:
                await self._round(pool, self._hold_back)
                self._notice(copy_trouble="")
            except _Ended:
                return
            except FileChanged as error:  # trying again makes it no better
                self._notice(copy_trouble=str(error))
            except RigdError as error:
                self._notice(copy_trouble=str(error))
                await self._clock.sleep(AGAIN_S)
                self._wake.set()

    def _hold_back(self) -> None:
        """In the copier's thread, between pieces: wait while a take is in hand."""
        while not self._idle() and not self._ended.is_set():
            self._ended.wait(_LOOK_S)
        if self._ended.is_set():
            raise _Ended

    async def _round(self, pool: ThreadPoolExecutor, wait: Callable[[], None]) -> int:
        job = self._hub.state.job
        if job is None or not job.copy_to:
            return 0
        second = SecondCopy(self._store.root, Path(job.copy_to), job.job_id)
        async with self._one_at_a_time:
            count, wrong = await self._files(pool, second, job.copy_to, wait)
            await self._papers(pool, second, wait)
        await self.tell()
        if wrong is not None:
            raise wrong
        return count

    async def _files(
        self, pool: ThreadPoolExecutor, second: SecondCopy, to: str, wait: Callable[[], None]
    ) -> tuple[int, FileChanged | None]:
        """All that have no copy yet. One that is not what was stored is left out; the others have their copies."""
        await _in(pool, second.require_there)
        count, wrong = 0, None
        async for take in self._without_copy(to):
            try:
                await self._file(pool, second, take, wait)
            except FileChanged as error:
                wrong = wrong or error
                continue
            except BaseException:
                self._due.appendleft(take.take_id)
                raise
            await self._hub.append(Copied(take.take_id, to))
            count += 1
            self._count(1, 0)
            await self.tell()
        return count, wrong

    async def _without_copy(self, to: str) -> AsyncIterator[Take]:
        """At first all of the ledger, page by page; after that only what was stored since."""
        if self._ask_all:
            self._due.clear()
            last: str | None = ""
            while last is not None:
                page, last = await self._hub.look.uncopied(to, last, _PAGE)
                for take in page:
                    yield take
            self._ask_all = False
        while self._due:
            found = await self._hub.look.take(self._due.popleft())
            if found is not None and found.path and not found.lost_why and to not in found.copied:
                yield found

    def _count(self, done: int, total: int) -> None:
        """So many more copies, and files."""
        if self._counted is not None:
            self._counted = self._counted[0] + done, self._counted[1] + total

    async def _file(
        self, pool: ThreadPoolExecutor, second: SecondCopy, take: Take, wait: Callable[[], None]
    ) -> None:
        def work() -> None:
            wait()
            second.copy(take.path, take.sha256, take.bytes, wait)

        await _in(pool, work)
        self._stale.add(take.path.rpartition("/")[0])

    async def _papers(self, pool: ThreadPoolExecutor, second: SecondCopy, wait: Callable[[], None]) -> None:
        """What the folders say by themselves, of those that were copied from or written anew."""
        while self._stale:
            folder = self._stale.pop()
            try:
                for path in await self._papers_in(folder):
                    await _in(pool, wait)
                    await _in(pool, partial(second.paper, path))
            except BaseException:
                self._stale.add(folder)
                raise

    async def _papers_in(self, folder: str) -> list[str]:
        if not folder:
            return [JOB]
        raws = await self._hub.look.files_in(folder)
        lists = [f"{folder}/{name}" for name in (FRAMES, ROLL, paths.MANIFEST)]
        return [*dict.fromkeys(sidecar_name(path) for _, path in raws), *lists]

    def _to(self) -> str:
        return self._hub.state.job.copy_to if self._hub.state.job else ""

    def _notice(self, **fields: object) -> None:
        self._hub.notice(replace(self._hub.vitals, **fields))


async def _in(pool: ThreadPoolExecutor, work: Callable[[], T]) -> T:
    return await asyncio.get_running_loop().run_in_executor(pool, work)


def _humble() -> None:
    """The copier's own thread comes last where others want the processor. Linux knows priorities of threads."""
    if sys.platform == "linux":
        with contextlib.suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _NICE)
