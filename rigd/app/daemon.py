"""The daemon: a desk with its engine, the web server before it, and the file that tells commands how to reach it."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Coroutine, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rigd import paths
from rigd.app.desks import open_desk
from rigd.app.doorway import Doorway, doorway
from rigd.config import Settings
from rigd.errors import RigdError
from rigd.ledger import remove_run_file, write_run_file
from rigd.operations.desk import Desk
from rigd.operations.finding_jobs import keep_remembering, remember
from rigd.server import Offer, Role, SessionBook, Vault, WebServer, announce, make_app

# Last-seen times are saved this often: after a power cut a device looks silent for so much longer than it was.
_SAVE_S = 300.0


@dataclass(frozen=True)
class Daemon:
    """A running daemon: `link` lets one browser on this machine in, once; `offer` one device of the local network,
    where that is served; `token` is the command line's; `quit` asks it to end."""

    desk: Desk
    url: str
    link: str
    token: str
    quit: asyncio.Event
    doorway: Doorway
    offer: Offer | None = None


@contextlib.asynccontextmanager
async def running_daemon(root: Path, settings: Settings, known: bool = True) -> AsyncIterator[Daemon]:
    """Open the job with its camera and serve it until the block ends.

    Args:
        known: it is put on the list of this machine's jobs.

    Raises:
        LedgerHeld, UnfitDisk, InputError (the port is taken, the address is not ours), BadSetting, ...
    """
    with doorway(settings.server) as door:
        async with open_desk(root, settings, camera=True) as desk, _served(desk, door, known) as daemon:
            yield daemon


@contextlib.asynccontextmanager
async def _served(desk: Desk, door: Doorway, known: bool) -> AsyncIterator[Daemon]:
    # Only a port that was chosen comes again: a cookie belongs to its port.
    book = SessionBook(desk.clock.now, Vault.of_port(door.port) if door.lasting else None)
    wanted = asyncio.Event()
    server = WebServer(make_app(desk, door.guard(book), paths.web_root(), wanted.set), *door.doors)
    token = book.run_token()
    async with asyncio.TaskGroup() as group:
        serving = group.create_task(server.run(), name="web server")
        beside = [group.create_task(one) for one in _beside(desk, door, book, known)]
        write_run_file(desk.root, door.url, token)
        try:
            offer = book.codes.open(Role.OPERATOR) if door.lan else None
            yield Daemon(desk, door.url, f"{door.url}/#{book.invite(Role.HOST)}", token, wanted, door, offer)
        finally:
            remove_run_file(desk.root)
            desk.hub.close()
            server.stop()
            await serving
            for task in beside:
                task.cancel()
            book.save()
            if known:
                with contextlib.suppress(OSError, RigdError):  # a help, and no part of the job
                    await remember(desk)


def _beside(desk: Desk, door: Doorway, book: SessionBook, known: bool) -> Iterator[Coroutine[Any, Any, None]]:
    yield _save_now_and_then(desk, book)
    if known:
        yield keep_remembering(desk)
    if door.lan and door.name:
        yield announce(door.lan, door.port, door.name)


async def _save_now_and_then(desk: Desk, book: SessionBook) -> None:
    while True:
        await desk.clock.sleep(_SAVE_S)
        await asyncio.to_thread(book.save)
