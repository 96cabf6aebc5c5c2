"""A real desk on a real ledger, and the app over it: in this process, or served on a free port of loopback."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import httpx
from fastapi import FastAPI

from rigd import paths
from rigd.drivers.clock import RealClock
from rigd.hub import Hub
from rigd.ledger import Ledger
from rigd.operations.desk import Desk
from rigd.server import Door, GuardConfig, Role, SessionBook, WebServer, listen, make_app
from rigd.store import Store

PORT = 8377


def now() -> datetime:
    return datetime.now(UTC)


@dataclass
class House:
    """A desk and its app. `left` counts how often somebody asked rigd to end."""

    desk: Desk
    book: SessionBook
    guard: GuardConfig
    app: FastAPI
    left: list[bool] = field(default_factory=list)

    def cookie(self, role: Role = Role.HOST) -> dict[str, str]:
        """The header of a browser that was let in as `role`."""
        return {"Cookie": f"{self.guard.cookie_name()}={self.book.let_in(role, 'page')}"}

    def browser(
        self, role: Role | None = Role.HOST, address: str = "127.0.0.1", port: int = 50_000
    ) -> httpx.AsyncClient:
        """A client that behaves as the page does: same Origin, JSON, and the cookie of `role`."""
        headers = {"Origin": f"http://127.0.0.1:{self.guard.port}", **(self.cookie(role) if role else {})}
        transport = httpx.ASGITransport(self.app, client=(address, port), raise_app_exceptions=False)
        return httpx.AsyncClient(
            transport=transport, base_url=f"http://127.0.0.1:{self.guard.port}", headers=headers
        )


@contextlib.asynccontextmanager
async def house(root: Path, port: int = PORT, clock_of_sessions: Callable[[], datetime] = now) -> AsyncIterator[House]:
    """A house on the job folder `root`, without a camera."""
    clock = RealClock()
    ledger = await Ledger.open(root, clock.now)
    desk = Desk(Hub(ledger), Store(root), clock)
    book = SessionBook(clock_of_sessions)
    guard = GuardConfig(port, book)
    left: list[bool] = []
    try:
        yield House(desk, book, guard, make_app(desk, guard, paths.web_root(), lambda: left.append(True)), left)
    finally:
        desk.hub.close()
        await ledger.close()


@dataclass
class Served:
    """A house that listens. `url` without a slash at its end."""

    house: House
    server: WebServer
    url: str

    @property
    def live_url(self) -> str:
        return self.url.replace("http", "ws", 1) + "/api/live"

    @property
    def page(self) -> dict[str, str]:
        """The headers of a page that was let in."""
        return {"Origin": self.url, **self.house.cookie()}


@contextlib.asynccontextmanager
async def served(root: Path, clock_of_sessions: Callable[[], datetime] = now) -> AsyncIterator[Served]:
    """The house on a free port, answering; stopped in the end."""

    sock = listen("127.0.0.1", 0)
    port = sock.getsockname()[1]
    async with house(root, port, clock_of_sessions) as home:
        server = WebServer(home.app, Door(sock))
        async with asyncio.TaskGroup() as group:
            running = group.create_task(server.run())
            try:
                yield Served(home, server, f"http://127.0.0.1:{port}")
            finally:
                server.stop()
                await asyncio.gather(running, return_exceptions=True)
