"""From what happens in the body to packets on the event connection, with the faults that can befall them."""

from __future__ import annotations

import asyncio

from rigd_sim.camera import wire, wirelog
from rigd_sim.camera.codes import Event
from rigd_sim.camera.faults import Fault, Faults
from rigd_sim.camera.holds import Freeze, Stalls
from rigd_sim.camera.link import JUNK, Link
from rigd_sim.camera.wirelog import Entry, WireLog

LATE = 5.0  # s, by how much an event is late if the fault does not say


class Events:
    """The queue of one session's events. What happens without a session is told to nobody, as on a body."""

    def __init__(self, faults: Faults, freeze: Freeze, stalls: Stalls, log: WireLog) -> None:
        self._faults, self._freeze, self._stalls, self._log = faults, freeze, stalls, log
        self._queue: asyncio.Queue[wire.EventNotice] | None = None

    def post(self, code: Event, transaction: int = 0, params: tuple[int, ...] = ()) -> None:
        """Queue an event for the session that is open now, if one is."""
        if self._queue is None:
            return
        notice = wire.EventNotice(code, transaction, params)
        fault = self._faults.take("event", "lost_event", "late_event", "duplicate_event")
        if fault is None:
            self._queue.put_nowait(notice)
        else:
            self._misdeliver(self._queue, notice, fault)

    @staticmethod
    def _misdeliver(queue: asyncio.Queue[wire.EventNotice], notice: wire.EventNotice, fault: Fault) -> None:
        if fault.kind == "duplicate_event":
            queue.put_nowait(notice)
            queue.put_nowait(notice)
        elif fault.kind == "late_event":
            seconds = LATE if fault.seconds is None else fault.seconds
            asyncio.get_running_loop().call_later(seconds, queue.put_nowait, notice)

    async def deliver(self, link: Link) -> None:
        """Send events over the event connection of one session, until cancelled or the peer is gone."""
        queue: asyncio.Queue[wire.EventNotice] = asyncio.Queue()
        self._queue = queue
        try:
            while True:
                await self._send(link, await queue.get())
        finally:
            self._queue = None

    async def _send(self, link: Link, notice: wire.EventNotice) -> None:
        if fault := self._faults.take("event", "drop", "stall", "garble", "freeze"):
            await self._suffer(link, fault)
        await self._freeze.over()
        start = wirelog.now()
        await link.send_message(notice)
        self._log.add(Entry("event", notice.code, notice.params, start, wirelog.now()))

    async def _suffer(self, link: Link, fault: Fault) -> None:
        match fault.kind:
            case "drop":
                raise ConnectionAbortedError
            case "garble":
                await link.send(JUNK)
            case "freeze":
                self._freeze.begin(fault.seconds)
            case _:
                await self._stalls.wait(fault.seconds)
