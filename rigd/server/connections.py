"""One TCP connection: how many there may be, how large a head may be, and how long a client may take for each thing."""

from __future__ import annotations

import asyncio
import sys
from ipaddress import ip_address
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from rigd.server import problems
from rigd.server.limits import BODY_SECONDS
from rigd.server.problems import Problem
from rigd.server.waits import Waits

# Eight phones with a handful of connections each, and the page of the host, stay well under it.
CONNECTIONS = 128
AN_ADDRESS = 16
# So many places are kept for this machine: whatever comes over the network, the host's own page gets in.
KEPT_FOR_LOOPBACK = 32
HEAD_SECONDS = 5.0
# A picture of a megabyte over a poor radio link takes ten seconds; who takes nothing at all for this long is gone.
STUCK_SECONDS = 20.0
# Longest head of a request: the page's own are under 1 KiB, and browsers add the cookies of every port of a machine.
HEAD_BYTES = 16 * 1024
# The WebSocket library reads 128 fields of 8 KiB at most, and says nothing at all about more.
FIELDS, FIELD_BYTES = 100, 8000

UNREADABLE = Problem(
    400, "input", "This is no HTTP request.", "It cannot be read as HTTP/1.1.",
    "Speak HTTP/1.1 to this port, or use rigd's page.",
)  # fmt: skip
LARGE_HEAD = Problem(
    431, "too-large", "The head of the request is too large.",
    f"It may have {HEAD_BYTES} bytes in {FIELDS} fields.",
    "Send fewer or shorter fields; in a browser, delete old cookies of this machine.",
)  # fmt: skip
NO_LENGTH = Problem(
    411, "no-length", "The request does not say how long it is.", "rigd takes no body in chunks.",
    "Send a Content-Length.",
)  # fmt: skip
_PROBLEMS = {411: NO_LENGTH, 431: LARGE_HEAD}


class Reader(h11.Connection):
    """Refuses at the head what rigd never takes. A body in chunks of one byte would keep the event loop for longer than
    a shutter may wait: this sender is refused before the first of them is read."""

    def next_event(self) -> Any:
        event = super().next_event()
        if isinstance(event, h11.Request):
            _check_head(event)
        return event


def _check_head(request: h11.Request) -> None:
    """Raises h11.RemoteProtocolError with the status of the refusal."""
    fields = list(request.headers)
    size = len(request.target) + sum(len(name) + len(value) for name, value in fields)
    if size > HEAD_BYTES or len(fields) > FIELDS or any(len(value) > FIELD_BYTES for _, value in fields):
        raise h11.RemoteProtocolError("head too large", error_status_hint=431)
    if any(name == b"transfer-encoding" for name, _ in fields):
        raise h11.RemoteProtocolError("no length", error_status_hint=411)


class Line(H11Protocol):
    """uvicorn's HTTP/1.1 connection with our limits: 128 in all, 16 an address off loopback, 5 s for a head, 11 s for a
    body (a second more than the guard waits, which answers first), 20 s without taking any of the answer."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.conn = Reader(h11.SERVER, HEAD_BYTES)
        self.waits = Waits(self.loop.time)

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as its parent does
        super().connection_made(transport)
        if too_many(self.client, self.connections):
            transport.abort()
            return
        self.waits.begin("head", HEAD_SECONDS)

    def data_received(self, data: bytes) -> None:
        if self.cycle is None or self.cycle.response_complete:
            self.waits.begin("head", HEAD_SECONDS)
        super().data_received(data)

    def handle_events(self) -> None:
        before = self.scope
        super().handle_events()
        if self.scope is not before:
            self.waits.end("head")
        if self.conn.their_state is h11.SEND_BODY:
            self.waits.begin("body", BODY_SECONDS + 1.0)
        else:
            self.waits.end("body")

    def pause_writing(self) -> None:
        super().pause_writing()
        self.waits.begin("taking", STUCK_SECONDS)

    def resume_writing(self) -> None:
        super().resume_writing()
        self.waits.end("taking")

    def send_400_response(self, msg: str) -> None:
        """Refuse what h11 could not read, or `Reader` would not; uvicorn calls this while it handles that error."""
        error = sys.exc_info()[1]
        problem = _PROBLEMS.get(getattr(error, "error_status_hint", 0), UNREADABLE)
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            self._say(problem)
        self.transport.close()

    def _say(self, problem: Problem) -> None:
        body = problem.body()
        fields = [
            (b"content-type", problems.MEDIA_TYPE.encode()), (b"content-length", str(len(body)).encode()),
            (b"x-content-type-options", b"nosniff"), (b"cache-control", b"no-store"), (b"connection", b"close"),
        ]  # fmt: skip
        parts = (h11.Response(status_code=problem.status, headers=fields), h11.Data(body), h11.EndOfMessage())
        self.transport.write(b"".join(self.conn.send(part) or b"" for part in parts))


def too_many(client: tuple[str, int] | None, connections: set[Any]) -> bool:
    """True if the newest of the connections, which is this client's, is one too many."""
    if len(connections) > CONNECTIONS:
        return True
    address = client[0] if client else ""
    if _is_loopback(address):
        return False
    others = [one.client[0] for one in connections if getattr(one, "client", None)]
    strangers = sum(not _is_loopback(other) for other in others)
    return others.count(address) > AN_ADDRESS or strangers > CONNECTIONS - KEPT_FOR_LOOPBACK


def _is_loopback(address: str) -> bool:
    return not address or ip_address(address).is_loopback
