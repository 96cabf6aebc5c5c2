"""The live line: a snapshot at sequence n, every event after it without a gap, notices, and live pictures.

Nobody waits for a client: events come from a bounded queue (a client too far behind gets a new snapshot instead), and
of live pictures one is on its way at a time: what a slow client does not fetch in time it never sees.
"""

from __future__ import annotations

import asyncio

import msgspec
from starlette.websockets import WebSocket, WebSocketDisconnect

from rigd.engine.live import LiveFeed
from rigd.hub import Notice, Subscription
from rigd.model.events import Committed
from rigd.operations.desk import Desk
from rigd.server.guard import GuardConfig
from rigd.server.limits import Pace
from rigd.server.present import Seat
from rigd.server.sessions import Session
from rigd.server.wire import live as wire

# RFC 6455 section 7.4.1: 1001 the server goes away, 1003 a message it cannot accept, 1008 one that breaks a rule.
GOING, UNREADABLE, TOO_FAST, SENT_AWAY = 1001, 1003, 1008, 1008


class LiveLine:
    """One client's line, from handshake to end."""

    def __init__(self, socket: WebSocket, desk: Desk, guard: GuardConfig) -> None:
        self._socket = socket
        self._desk = desk
        self._guard = guard
        self._session: Session = socket.scope["rigd.session"]
        self._sending = asyncio.Lock()
        self._closed = False
        self._roll_id: str | None = None
        self._eye: asyncio.Task[None] | None = None
        self._shown = asyncio.Event()
        self._number = 0
        self._pace = Pace()

    async def run(self) -> None:
        """Serve until the client leaves, its session ends, or the hub closes."""
        await self._socket.accept()
        seat = self._guard.control.join(self._session)
        try:
            async with asyncio.TaskGroup() as group:
                telling = [group.create_task(self._tell()), group.create_task(self._tell_of_people(seat))]
                await self._listen(group)
                for task in telling:
                    task.cancel()
                self._look(group, live=False)
        except* (WebSocketDisconnect, OSError):
            pass  # the client is gone: there is nobody left to tell
        finally:
            self._guard.control.leave(seat)

    # -- to the client -----------------------------------------------------------------------------------------------

    async def _tell(self) -> None:
        """Snapshot, then events and notices; again from a new snapshot where this client fell behind."""
        await self._desk.hub.follow(self._follow)
        await self._close(GOING)

    async def _follow(self, subscription: Subscription) -> None:
        """Pass on what comes after the snapshot: the state may be a step ahead of what was published."""
        told = await self._snapshot()
        async for item in subscription:
            if not isinstance(item, Committed) or item.seq > told:
                await self._pass_on(item)

    async def _pass_on(self, item: Committed | Notice) -> None:
        if not isinstance(item, Committed):
            await self._send(wire.NoticeSaid(item))
            return
        if self._desk.state.roll_id != self._roll_id or wire.needs_snapshot(item.event):
            await self._snapshot()  # another roll: of that one the client has the label only
        await self._send(wire.event_said(item))

    async def _snapshot(self) -> int:
        """Send everything at one moment; the sequence it holds."""
        state = self._desk.state
        self._roll_id = state.roll_id
        await self._send(wire.snapshot_said(state, self._desk.hub.vitals, self._guard.control.holder))
        return state.seq

    async def _tell_of_people(self, seat: Seat) -> None:
        """Who works the rig, whenever that changes; and the end, where this session is sent away."""
        while True:
            await seat.news.wait()
            seat.news.clear()
            if seat.ended:
                await self._close(SENT_AWAY)
                return
            await self._send(wire.ControlSaid(self._guard.control.holder))

    async def _send(self, said: wire.FromServer, picture: bytes | None = None) -> None:
        async with self._sending:
            if self._closed:
                return
            await self._socket.send_text(wire.text_of(said))
            if picture is not None:
                await self._socket.send_bytes(picture)

    async def _close(self, code: int) -> None:
        async with self._sending:
            if not self._closed:
                self._closed = True
                await self._socket.close(code)

    # -- live pictures -----------------------------------------------------------------------------------------------

    def _look(self, group: asyncio.TaskGroup, live: bool, rate: int = 10) -> None:
        if self._eye is not None:
            self._eye.cancel()
            self._eye = None
        if live and self._desk.runner is not None:
            self._eye = group.create_task(self._show(self._desk.runner.live, 1.0 / rate))

    async def _show(self, feed: LiveFeed, pace_s: float) -> None:
        """One picture in flight: the next goes out when this client has shown the last."""
        async with feed.watch(pace_s):
            while True:
                self._number, jpeg = await feed.next_picture(self._number)
                self._shown.clear()
                await self._send(wire.PictureNext(self._number), jpeg)
                await self._shown.wait()

    # -- from the client ---------------------------------------------------------------------------------------------

    async def _listen(self, group: asyncio.TaskGroup) -> None:
        """Read until the client leaves, says something unreadable, or commands too fast."""
        while True:
            message = await self._socket.receive()
            if message["type"] == "websocket.disconnect":
                return
            try:
                said = wire.read(message.get("text") or "")
            except msgspec.DecodeError:
                await self._close(UNREADABLE)
                return
            if not isinstance(said, wire.Seen) and not self._pace.allow(None):
                await self._close(TOO_FAST)
                return
            await self._obey(said, group)

    async def _obey(self, said: wire.FromClient, group: asyncio.TaskGroup) -> None:
        if isinstance(said, wire.Fresh):
            await self._snapshot()
        elif isinstance(said, wire.Ask):
            await self._confirm(said.seq)
        elif isinstance(said, wire.Watch):
            self._look(group, said.live, said.rate)
        elif said.picture == self._number:
            self._shown.set()

    async def _confirm(self, seq: int) -> None:
        """A page that is open and awake keeps its session; what it shows is true, or it gets what is."""
        self._guard.book.seen(self._session.session_id)
        if seq == self._desk.state.seq:
            await self._send(wire.Here(seq))
        else:
            await self._snapshot()
