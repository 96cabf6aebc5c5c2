"""Keeps each roll's folder telling by itself what it holds: sidecars, lists, checksums. Never in a cycle's way."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable

from rigd.errors import LedgerError, StoreError
from rigd.hub import Hub, Subscription
from rigd.ledger import things_of
from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.state import RollState
from rigd.model.values import Job, Roll
from rigd.ports import Clock
from rigd.store import Store
from rigd.store.papers import JOB, JobPaper, as_json, papers_of

log = logging.getLogger("rigd.papers")

# A roll's papers are written when nothing has happened for so long: between two strips, not between two frames.
QUIET_S = 4.0
_PAGE = 500
_OF_THE_JOB = (
    ev.JobOpened, ev.SetupDescribed, ev.LampMeasured, ev.RollPlanned, ev.RollChanged, ev.Unclaimed,
    late.RollDropped, late.StrayAssigned, late.StrayDismissed,
)  # fmt: skip


class Papers:
    """Remembers which rolls were spoken of, and writes their papers while nothing else is to be done."""

    def __init__(self, hub: Hub, store: Store, clock: Clock, idle: Callable[[], bool]) -> None:
        """`idle`: nothing else is to be done."""
        self._hub = hub
        self._store = store
        self._clock = clock
        self._idle = idle
        self._stale: dict[str, None] = {}
        self._job_stale = False
        self._job: Job | None = hub.state.job
        self._last = 0.0
        self._wake = asyncio.Event()
        self._one_at_a_time = asyncio.Lock()
        self.on_written: Callable[[set[str]], None] = lambda folders: None
        """Called with the folders whose papers were written; "" is the job's own."""

    def doubt_all(self) -> None:
        """Look at every roll in hand: after a crash their papers may be behind."""
        self._stale |= dict.fromkeys(self._hub.state.rolls)
        self._job_stale = True

    def doubt(self, roll_id: str) -> None:
        """Look at this roll."""
        self._stale[roll_id] = None

    async def run(self) -> None:
        """Runs until it is cancelled."""
        async with asyncio.TaskGroup() as group:
            working = group.create_task(self._working(), name="papers")
            await self._hub.follow(self._listen)
            working.cancel()

    async def catch_up(self) -> None:
        """Write all that is due now, whether anything happens or not. Raises StoreError."""
        await self._work(lambda: True)

    async def catch_up_after(self, listener: Subscription) -> None:
        """The same for what a listener has heard that is at its end. Raises StoreError."""
        if listener.lagged:
            self.doubt_all()
        async for item in listener:
            if isinstance(item, ev.Committed):
                await self.note(item.event)
        await self.catch_up()

    async def note(self, event: ev.AnyEvent) -> None:
        """An event was committed: which papers it puts behind."""
        if isinstance(event, ev.JobOpened):
            before, self._job = self._job, event.job
            if before is None or (before.title, before.about) != (event.job.title, event.job.about):
                await self.doubt_every_roll()
        self._job_stale |= isinstance(event, _OF_THE_JOB)
        rolls, things = things_of(event)
        self._stale |= dict.fromkeys(rolls)
        now = self._hub.state.roll
        for thing in things:
            in_hand = now is not None and (thing in now.takes or thing in now.frames or thing in now.strips)
            roll = now if in_hand else await self._hub.look.roll_of(thing)
            if roll is None:  # a take of no film
                self._job_stale = True
            else:
                self._stale[roll.roll.roll_id] = None

    async def doubt_every_roll(self) -> None:
        """Look at every roll of the job that has takes."""
        last = 0
        while page := await self._hub.look.lines(last, _PAGE):
            self._stale |= dict.fromkeys(line.roll_id for line in page if line.tally.takes)
            last = page[-1].place

    async def _listen(self, listener: Subscription) -> None:
        self.doubt_all()
        self._wake.set()
        async for item in listener:
            if isinstance(item, ev.Committed) and not isinstance(item.event, ev.Triggered | ev.Settled):
                self._last = self._clock.monotonic()
                await self.note(item.event)
                self._wake.set()

    async def _working(self) -> None:
        while True:
            await self._wake.wait()
            self._wake.clear()
            while self._stale or self._job_stale:
                await self._clock.sleep(QUIET_S)
                try:
                    await self._work(self._quiet)
                except (StoreError, LedgerError) as error:
                    log.warning("papers not written: %s", error)
                    break

    def _quiet(self) -> bool:
        return self._idle() and self._clock.monotonic() - self._last >= QUIET_S

    async def _work(self, may: Callable[[], bool]) -> None:
        async with self._one_at_a_time:
            while self._stale and may():
                await self._next()
            if self._job_stale and may() and self._hub.state.job is not None:
                await self._write_job()

    async def _next(self) -> None:
        roll_id = next(iter(self._stale))
        del self._stale[roll_id]  # before it is looked at: what happens meanwhile puts it on the list again
        try:
            roll = await self._hub.look.roll(roll_id)
            if roll is not None:
                await self._write(roll)
        except BaseException:
            self._stale[roll_id] = None
            raise

    async def _write(self, roll: RollState) -> None:
        """A roll that has no strip yet has no folder either: `job.json` holds its plan."""
        if not roll.strips and not roll.takes:
            return
        papers = await asyncio.to_thread(papers_of, self._hub.state.job, roll)
        await asyncio.to_thread(self._store.write_papers, papers)
        for folder in {path.rpartition("/")[0] for path in papers}:
            raws = await self._hub.look.files_in(folder)
            await asyncio.to_thread(self._store.list_folder, folder, raws)
        self.on_written({path.rpartition("/")[0] for path in papers})

    async def _write_job(self) -> None:
        self._job_stale = False
        rolls: list[Roll] = []
        last = 0
        while page := await self._hub.look.lines(last, _PAGE):
            rolls.extend(line.roll for line in page)
            last = page[-1].place
        state = self._hub.state
        counted = (state.take_count, state.frame_count, state.strip_count, state.roll_count)
        paper = JobPaper(job=state.job, setup=state.setup, lamp=state.lamp, rolls=tuple(rolls), loose=state.loose,
                         strays=state.strays, dismissed=state.dismissed, counted=counted)  # fmt: skip
        await asyncio.to_thread(lambda: self._store.write_papers({JOB: as_json(paper)}))
        loose = {take.path.rpartition("/")[0] for take in state.loose.values() if take.path}
        for folder in loose:
            raws = await self._hub.look.files_in(folder)
            await asyncio.to_thread(self._store.list_folder, folder, raws)
        self.on_written({"", *loose})
