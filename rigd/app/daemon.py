"""The daemon: a desk with its engine, the web server before it, and the file that tells commands how to reach it."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path

from rigd import paths
from rigd.app.desks import open_desk
from rigd.config import Settings
from rigd.ledger import remove_run_file, write_run_file
from rigd.operations.desk import Desk
from rigd.server import GuardConfig, Role, SessionBook, WebServer, listen, make_app


@dataclass(frozen=True)
class Daemon:
    """A running daemon: `link` lets one browser in, once; `token` is the command line's; `quit` asks it to end."""

    desk: Desk
    url: str
    link: str
    token: str
    quit: asyncio.Event


@contextlib.asynccontextmanager
async def running_daemon(root: Path, settings: Settings) -> AsyncIterator[Daemon]:
    """Open the job with its camera and serve it until the block ends.

    Raises:
        LedgerHeld, UnfitDisk, InputError (the port is taken), ...
    """
    sock = listen(settings.server.host, settings.server.port)
    with contextlib.closing(sock):
        async with open_desk(root, settings, camera=True) as desk, _served(desk, sock, settings.server.host) as daemon:
            yield daemon


@contextlib.asynccontextmanager
async def _served(desk: Desk, sock: socket.socket, host: str) -> AsyncIterator[Daemon]:
    port = sock.getsockname()[1]
    book = SessionBook(desk.clock.now)
    wanted = asyncio.Event()
    server = WebServer(make_app(desk, GuardConfig(port, book), paths.web_root(), wanted.set), sock)
    url, token = f"http://{host}:{port}", book.run_token()
    link = f"{url}/#{book.invite(Role.HOST)}"
    async with asyncio.TaskGroup() as group:
        serving = group.create_task(server.run(), name="web server")
        write_run_file(desk.root, url, token)
        try:
            yield Daemon(desk, url, link, token, wanted)
        finally:
            remove_run_file(desk.root)
            desk.hub.close()
            server.stop()
            await serving
