"""The one door: every request and every live line passes here before any route.

Order of the checks: Host, limits, Origin, session. The role is checked by the route (`roles`), the last thing before
its handler. Files of the page itself need no session: they hold nothing of the job.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import dataclass, field
from ipaddress import ip_address

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from rigd.server import headers as h
from rigd.server import limits, problems
from rigd.server.control import Control
from rigd.server.limits import TOO_MANY, Pace, Refused, replay, whole_body
from rigd.server.problems import Problem
from rigd.server.sessions import Session, SessionBook

log = logging.getLogger("rigd.server")

NO_SESSION = Problem(
    401, "no-session", "This browser has not been let in.",
    "It carries no session of this rigd, or the session has ended.",
    "On the machine that rigd runs on, open the link that it printed. Elsewhere, type the code that its page shows.",
)  # fmt: skip
WRONG_METHOD = Problem(
    405, "method", "rigd takes GET and POST only.", "Looking is GET, everything else is POST.", "Use one of the two.",
)  # fmt: skip

# Where a code is turned into a session: the one command that asks for none.
ENTER = "/api/session"
# What is behind the door, beside the API: figures of the rig are not for strangers.
METRICS = "/metrics"
OWN_NAMES = ("127.0.0.1", "localhost", "[::1]")

_SAFETY = (
    (b"content-security-policy", b"default-src 'self'; frame-ancestors 'none'; base-uri 'none'"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
# Answers of the API are about this moment; the page's files are asked for again each time, by their tag.
_FRESH = (b"cache-control", b"no-store")
_ASK = (b"cache-control", b"no-cache")


def _with_port(name: str, port: int) -> Iterable[str]:
    return (f"{name}:{port}",) if port != 80 else (name, f"{name}:80")


@dataclass(frozen=True)
class GuardConfig:
    """Under which names rigd answers, who has come in, and who works the rig. `names` without port, IPv6 in brackets;
    `lan`: the address of the local network that is served too, "" for none; `addresses`: the page's, for the eyes of
    others, best first."""

    port: int
    book: SessionBook
    names: tuple[str, ...] = OWN_NAMES
    lan: str = ""
    addresses: tuple[str, ...] = ()
    control: Control = field(default_factory=Control)

    def __post_init__(self) -> None:
        self.book.on_end = self.control.ended
        if not self.addresses:
            object.__setattr__(self, "addresses", (f"http://{self.names[0]}:{self.port}",))

    @property
    def hosts(self) -> frozenset[str]:
        """The exact Host values that are ours."""
        return frozenset(host for name in self.names for host in _with_port(name, self.port))

    def cookie_name(self, scheme: str = "http") -> str:
        """Cookies are not kept apart by port, so the name carries it. Over TLS the browser is told to keep the cookie
        to this host and to TLS (RFC 6265bis, section 4.1.3.2)."""
        return f"__Host-rigd_{self.port}" if scheme in ("https", "wss") else f"rigd_{self.port}"

    def is_local(self, scope: Scope) -> bool:
        """True for whoever sits at the machine itself: what came by the door to the network does not."""
        client, server = scope.get("client"), scope.get("server")
        came_by_lan = bool(self.lan) and server is not None and server[0] == self.lan
        return client is not None and ip_address(client[0]).is_loopback and not came_by_lan


class Guard:
    """ASGI middleware; sets `scope["rigd.session"]` for whoever comes after it."""

    def __init__(self, app: ASGIApp, config: GuardConfig) -> None:
        self._app = app
        self._config = config
        self._hosts = config.hosts
        self._pace = Pace()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        scope["rigd.guard"] = self._config
        if scope["type"] == "http":
            await self._http(scope, receive, _safe_send(scope, send))
        elif scope["type"] == "websocket":
            await self._websocket(scope, receive, send)
        else:
            await self._app(scope, receive, send)

    # -- the two kinds of traffic ------------------------------------------------------------------------------------

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        started: list[bool] = []

        async def watched(message: Message) -> None:
            started.append(True)
            await send(message)

        try:
            receive = await self._pass(scope, receive)
            await self._app(scope, receive, watched)
        except Refused as refused:
            await refused.problem.response()(scope, receive, watched)
        except Exception:
            log.exception("%s %s failed", scope["method"], scope["path"])
            if started:
                raise
            await problems.INTERNAL.response()(scope, receive, watched)

    async def _pass(self, scope: Scope, receive: Receive) -> Receive:
        """Let the request through, with its body read, or raise `Refused`."""
        pairs, changes = scope["headers"], scope["method"] not in ("GET", "HEAD")
        _refuse(h.check_host(pairs, self._hosts))
        if changes:
            _refuse(None if scope["method"] == "POST" else WRONG_METHOD)
            _refuse(None if self._pace.allow(scope.get("client")) else TOO_MANY)
            receive = replay(await whole_body(receive, seconds=limits.BODY_SECONDS), receive)
        if scope["path"].startswith("/api/") or scope["path"] == METRICS:
            _refuse(h.check_origin(pairs, self._origin(scope), required=changes and h.bearer(pairs) is None))
            _refuse(h.check_media(pairs) if changes else None)
            if not (changes and scope["path"] == ENTER):
                scope["rigd.session"] = self._session(scope)
        return receive

    async def _websocket(self, scope: Scope, receive: Receive, send: Send) -> None:
        pairs = scope["headers"]
        try:
            _refuse(h.check_host(pairs, self._hosts))
            _refuse(h.check_origin(pairs, self._origin(scope), required=h.bearer(pairs) is None))
            scope["rigd.session"] = self._session(scope)
        except Refused as refused:
            await _deny(refused.problem, receive, send)
            return
        await self._app(scope, receive, send)

    def _origin(self, scope: Scope) -> frozenset[str]:
        """The one origin that a page of this very connection has."""
        scheme = {"ws": "http", "wss": "https"}.get(scope["scheme"], scope["scheme"])
        return frozenset(f"{scheme}://{host.lower()}" for host in h.values(scope["headers"], b"host"))

    def _session(self, scope: Scope) -> Session:
        pairs = scope["headers"]
        secret = h.bearer(pairs) or h.cookie(pairs, self._config.cookie_name(scope["scheme"]))
        client = scope.get("client")
        session = self._config.book.find(secret, client[0] if client else "") if secret else None
        if session is None:
            raise Refused(NO_SESSION)
        return session


def _refuse(problem: Problem | None) -> None:
    if problem is not None:
        raise Refused(problem)


def _safe_send(scope: Scope, send: Send) -> Send:
    """Add the headers that every answer carries."""
    cache = _FRESH if scope["path"].startswith("/api/") else _ASK

    async def wrapped(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", ()), *_SAFETY, cache]
        await send(message)

    return wrapped


async def _deny(problem: Problem, receive: Receive, send: Send) -> None:
    """Refuse a WebSocket handshake with a plain answer."""
    await receive()
    kind = (b"content-type", problems.MEDIA_TYPE.encode())
    body = problem.body()
    length = (b"content-length", str(len(body)).encode())
    await send({"type": "websocket.http.response.start", "status": problem.status, "headers": [kind, length]})
    await send({"type": "websocket.http.response.body", "body": body})
