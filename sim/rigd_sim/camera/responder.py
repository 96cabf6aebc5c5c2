"""The two listening sockets of the camera, and who may come in: one session at a time."""

from __future__ import annotations

import asyncio
import itertools
import socket
from contextlib import suppress

from rigd_sim.camera import wire
from rigd_sim.camera.body import Body
from rigd_sim.camera.codes import FailReason
from rigd_sim.camera.link import JUNK, Link
from rigd_sim.camera.session import Incoming, Session

GUID = b"rigd-sim-camera!"  # 16 bytes that name this responder
NAME = "Simulated Body"
GRACE = 0.25  # s a newcomer waits for a session that is just ending


class Responder:
    """Serves one body. `open` and `close` may alternate, as switching a camera on and off does."""

    def __init__(self, body: Body) -> None:
        self._body = body
        self._listeners: list[socket.socket] = []
        self._accepting: list[asyncio.Task[None]] = []
        self._connections: set[asyncio.Task[None]] = set()
        self._session: Session | None = None
        self._numbers = itertools.count(1)

    def open(self, host: str, command: int, event: int) -> tuple[int, int]:
        """Listen on both ports (0: any free one; both alike: one socket for both) and return them. Raises OSError."""
        self._listeners = [_listener(host, command)]
        if event == 0 or event != command:
            self._listeners.append(_listener(host, event))
        loop = asyncio.get_running_loop()
        self._accepting = [loop.create_task(self._accept(listener)) for listener in self._listeners]
        ports = [listener.getsockname()[1] for listener in self._listeners]
        return ports[0], ports[-1]

    async def close(self) -> None:
        """Stop listening and end whatever is connected."""
        await _cancel(self._accepting)
        for listener in self._listeners:
            listener.close()
        self._listeners = []
        await self.drop()

    async def drop(self) -> None:
        """Cut every connection, as a pulled cable does once it is noticed; listening goes on."""
        await _cancel(list(self._connections))

    async def _accept(self, listener: socket.socket) -> None:
        while True:
            sock, _ = await asyncio.get_running_loop().sock_accept(listener)
            task = asyncio.get_running_loop().create_task(self._greet(Link(sock)))
            self._connections.add(task)
            task.add_done_callback(self._connections.discard)

    async def _greet(self, link: Link) -> None:
        """The first packet says what the connection is for."""
        incoming = link.messages()
        try:
            first = await anext(incoming, None)
            if isinstance(first, wire.InitCommandRequest):
                await self._command(link, incoming, first.guid)
            elif isinstance(first, wire.InitEventRequest):
                await self._event(link, incoming, first.connection)
        except (OSError, wire.WireError):
            pass
        finally:
            link.close()

    async def _command(self, link: Link, incoming: Incoming, guid: bytes) -> None:
        await self._body.freeze.over()
        await self._suffer(link)
        if await self._occupied(guid):
            await link.send_message(wire.InitFail(FailReason.BUSY))
            return
        self._session = session = Session(self._body, link, incoming, next(self._numbers), guid)
        try:
            await link.send_message(wire.InitCommandAck(session.number, GUID, NAME))
            await session.run()
        finally:
            if self._session is session:
                self._session = None

    async def _event(self, link: Link, incoming: Incoming, number: int) -> None:
        await self._body.freeze.over()
        session = self._session
        if session is None or session.number != number:
            await link.send_message(wire.InitFail(FailReason.REJECTED_INITIATOR))
            return
        await link.send_message(wire.InitEventAck())
        if session.attach(link, incoming):
            await session.ended()

    async def _occupied(self, guid: bytes) -> bool:
        """Whether somebody else is served. The same initiator anew has lost its old connection, whatever it looks like:
        libgphoto2 leaves the sockets of a failed start open."""
        if self._session is not None:
            if self._session.guid == guid:
                self._session.replace()
            with suppress(TimeoutError):
                await asyncio.wait_for(self._session.ended(), GRACE)
                self._session = None
        return self._session is not None

    async def _suffer(self, link: Link) -> None:
        fault = self._body.faults.take("connect")
        match fault.kind if fault else None:
            case "drop":
                raise ConnectionAbortedError
            case "busy":
                await link.send_message(wire.InitFail(FailReason.BUSY))
                raise ConnectionAbortedError
            case "garble":
                await link.send(JUNK)
            case "freeze":
                self._body.freeze.begin(fault.seconds if fault else None)
                await self._body.freeze.over()
            case "stall":
                await self._body.stalls.wait(fault.seconds if fault else None)


async def _cancel(tasks: list[asyncio.Task[None]]) -> None:
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)


def _listener(host: str, port: int) -> socket.socket:
    listener = socket.create_server((host, port), backlog=8)
    listener.setblocking(False)
    return listener
