"""One initiator's session: its command connection, and its event connection once that has come."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from rigd_sim.camera import wire, wirelog
from rigd_sim.camera.body import Body
from rigd_sim.camera.codes import DataPhase, Op, Response
from rigd_sim.camera.delivery import Unanswered, deliver
from rigd_sim.camera.faults import Fault
from rigd_sim.camera.link import Link
from rigd_sim.camera.operations import Reply, Request, part_carried, perform
from rigd_sim.camera.tasks import first_done
from rigd_sim.camera.wirelog import Entry

Incoming = AsyncIterator[wire.Message]


class Session:
    """Runs from the first acknowledged packet until either connection ends, whoever ends it."""

    def __init__(self, body: Body, link: Link, incoming: Incoming, number: int, guid: bytes) -> None:
        self._body, self._link, self._incoming = body, link, incoming
        self.number, self.guid = number, guid
        self._queue: asyncio.Queue[tuple[wire.Message, float]] = asyncio.Queue()
        self._event_link: asyncio.Future[tuple[Link, Incoming]] = asyncio.get_running_loop().create_future()
        self._open = False
        self._replaced = asyncio.Event()
        self._ended = asyncio.Event()

    async def run(self) -> None:
        """Serve until a connection ends. A read goes on all the while, so a gone peer is seen at once."""
        try:
            await first_done(self._pump(), self._serve(), self._tell(), self._give_way())
        except (OSError, wire.WireError):
            pass
        finally:
            self._ended.set()

    def attach(self, link: Link, incoming: Incoming) -> bool:
        """Give the session its event connection. False if it has one."""
        if self._event_link.done():
            return False
        self._event_link.set_result((link, incoming))
        return True

    def replace(self) -> None:
        """End, because the same initiator has come anew."""
        self._replaced.set()

    async def ended(self) -> None:
        await self._ended.wait()

    async def _give_way(self) -> None:
        await self._replaced.wait()

    async def _pump(self) -> None:
        async for message in self._incoming:
            self._queue.put_nowait((message, self._link.heard))

    async def _tell(self) -> None:
        link, incoming = await self._event_link
        await first_done(self._body.events.deliver(link), self._answer_probes(link, incoming))

    async def _answer_probes(self, link: Link, incoming: Incoming) -> None:
        async for message in incoming:
            await self._body.freeze.over()
            if isinstance(message, wire.ProbeRequest):
                await link.send_message(wire.ProbeResponse())

    async def _serve(self) -> None:
        """One operation after the other. A Cancel found here comes too late: its operation has been answered."""
        while True:
            message, heard = await self._queue.get()
            if isinstance(message, wire.OperationRequest):
                await self._operate(message, heard)

    async def _operate(self, message: wire.OperationRequest, heard: float) -> None:
        data = b""
        if message.phase == DataPhase.OUT:
            data, heard = await self._collect()
        request = Request(message.code, message.transaction, message.params, data)
        await self._body.freeze.over()
        reply, fault = await self._reply(request)
        await self._body.freeze.over()
        sent = 0
        try:
            sent = await deliver(self._link, self._body.stalls, request.transaction, reply, fault)
        except Unanswered:
            return
        finally:
            self._note(request, heard, sent, reply)

    async def _collect(self) -> tuple[bytes, float]:
        """The data phase of a set (start-data, data packets, end-data), and when the last of it was heard."""
        data = bytearray()
        while True:
            match await self._queue.get():
                case wire.EndData(_, payload), heard:
                    return bytes(data + payload), heard
                case wire.Data(_, payload), _:
                    data += payload

    async def _reply(self, request: Request) -> tuple[Reply, Fault | None]:
        """What to answer, and the fault that befalls the answer on its way."""
        fault = self._body.faults.take_operation(request.code, part_carried(self._body, request))
        match fault.kind if fault else None:
            case "busy":
                return Reply(Response.DEVICE_BUSY), None
            case "answer":
                return Reply(fault.code if fault else Response.GENERAL_ERROR), None
            case "freeze":
                self._body.freeze.begin(fault.seconds if fault else None)
                await self._body.freeze.over()
                return await self._perform(request), None
            case "drop" if fault and not fault.performed:
                raise ConnectionAbortedError
        return await self._perform(request), fault

    async def _perform(self, request: Request) -> Reply:
        if request.code == Op.OPEN_SESSION:
            return self._open_session(request)
        if not self._open and request.code != Op.GET_DEVICE_INFO:
            return Reply(Response.SESSION_NOT_OPEN)
        if request.code == Op.CLOSE_SESSION:
            self._open = False
        return await perform(self._body, request)

    def _open_session(self, request: Request) -> Reply:
        if self._open:
            return Reply(Response.SESSION_ALREADY_OPEN)
        if request.param(0) == 0:
            return Reply(Response.INVALID_PARAMETER)
        self._open = True
        return Reply()

    def _note(self, request: Request, start: float, sent: int, reply: Reply) -> None:
        sizes = (sent, len(request.data), int(reply.code))
        params = request.params
        self._body.log.add(Entry("operation", request.code, params, start, wirelog.now(), *sizes))
