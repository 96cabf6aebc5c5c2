"""The worker process seen from the daemon: started, spoken to over a socket pair, watched, ended."""

from __future__ import annotations

import asyncio
import fcntl
import itertools
import os
import socket
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

from rigd.drivers.camera.faults import worker_ended, worker_hung
from rigd.drivers.camera.frames import OutOfStep, Splitter, pack
from rigd.drivers.camera.messages import Ask, Reply, Request, decode_tell, encode
from rigd.errors import CameraLost

WORKER = "rigd.drivers.camera.worker"
LOWEST_DESCRIPTOR = 3  # the library closes descriptor 0, and 1 and 2 are the terminal's
LOG = "camera-worker.log"  # what the worker and the library write, of the last run only
END_S = 5.0  # from closing the socket to the end of a healthy worker: it leaves the camera and is gone

Notice = Callable[[Reply], None]


class Link:
    """One worker process. It lives until `end`, its own death, or a request that takes too long.

    Args:
        on_notice: called with what the worker says unasked.
        on_death: called once if the worker ends by itself.
    """

    def __init__(self, on_notice: Notice, on_death: Callable[[CameraLost], None]) -> None:
        self._on_notice, self._on_death = on_notice, on_death
        self._numbers = itertools.count(1)
        self._waiting: dict[int, asyncio.Future[Reply]] = {}
        self._process: asyncio.subprocess.Process | None = None
        self._transport: asyncio.Transport | None = None
        self._closed = asyncio.Event()
        self._ending = False
        self._log: Path | None = None

    async def start(self, home: Path, more: Mapping[str, str]) -> None:
        """Start the process. home: a folder that exists; more: variables on top of its environment."""
        ours, theirs = socket.socketpair()
        self._log = home / LOG
        with theirs, _high(theirs) as given, self._log.open("wb") as log:
            self._process = await asyncio.create_subprocess_exec(
                sys.executable, "-m", WORKER, str(given.fileno()), str(os.getpid()),
                pass_fds=[given.fileno()], env=worker_environment(home, more),
                stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.DEVNULL,
                stderr=log,
            )  # fmt: skip
        loop = asyncio.get_running_loop()
        self._transport, _ = await loop.create_connection(lambda: _Reader(self._heard, self._lost), sock=ours)

    @property
    def pid(self) -> int | None:
        """The process's number, while it runs."""
        process = self._process
        return process.pid if process is not None and process.returncode is None else None

    async def ask(self, request: Request, doing: str, within_s: float) -> Reply:
        """Send a request and wait for its reply.

        Raises:
            CameraLost: the worker died, or gave no answer in time and was killed.
        """
        number = next(self._numbers)
        if self._transport is None or self._closed.is_set():
            raise await self._obituary(doing)
        future: asyncio.Future[Reply] = asyncio.get_running_loop().create_future()
        self._waiting[number] = future
        self._transport.write(pack(encode(Ask(number, request))))
        try:
            async with asyncio.timeout(within_s):
                return await future
        except TimeoutError:
            await self.end(kill=True)
            raise worker_hung(doing, within_s) from None
        except ConnectionResetError:
            raise (await self._obituary(doing)) from None
        finally:
            self._waiting.pop(number, None)

    async def end(self, kill: bool = False) -> None:
        """End the process: by closing the socket, or at once; and by force if it does not go."""
        self._ending = True
        process = self._process
        if process is None:
            return
        if kill:
            _kill(process)
        if self._transport is not None:
            self._transport.close()
        try:
            async with asyncio.timeout(END_S):
                await process.wait()
        except TimeoutError:
            _kill(process)
            await process.wait()
        if self._transport is not None:
            await self._closed.wait()

    async def _obituary(self, doing: str) -> CameraLost:
        """How the process ended; it has closed its socket, so it is about to."""
        status = None
        if self._process is not None:
            with suppress(TimeoutError):
                async with asyncio.timeout(END_S):
                    status = await self._process.wait()
        return worker_ended(doing, status, _last_line(self._log))

    def _heard(self, message: bytes) -> None:
        tell = decode_tell(message)
        future = self._waiting.get(tell.number)
        if future is not None and not future.done():
            future.set_result(tell.reply)
        elif tell.number == 0:
            self._on_notice(tell.reply)

    def _lost(self) -> None:
        self._closed.set()
        waiting = list(self._waiting.values())
        for future in waiting:
            if not future.done():
                future.set_exception(ConnectionResetError())
        if not waiting and not self._ending:
            self._on_death(worker_ended("nothing was asked of it", None, _last_line(self._log)))


def _last_line(log: Path | None) -> str:
    """The end of what the worker and the library wrote, as far as it is of use to a reader."""
    try:
        lines = log.read_text("utf-8", "replace").split("\n") if log else []
    except OSError:
        return ""
    return next((line.strip()[:200] for line in reversed(lines) if line.strip()), "")


class _Reader(asyncio.Protocol):
    """Bytes from the worker as messages."""

    def __init__(self, heard: Callable[[bytes], None], lost: Callable[[], None]) -> None:
        self._heard, self._lost = heard, lost
        self._splitter = Splitter()
        self._transport: asyncio.BaseTransport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._transport = transport

    def data_received(self, data: bytes) -> None:
        try:
            for message in self._splitter.feed(data):
                self._heard(message)
        except (OutOfStep, ValueError):
            if self._transport is not None:
                self._transport.close()

    def connection_lost(self, exc: Exception | None) -> None:
        self._lost()


def worker_environment(home: Path, more: Mapping[str, str]) -> dict[str, str]:
    """The worker's environment.

    Labels are matched by their text, so no translation; the library keeps a settings file under HOME, and camera
    times have no zone, so they pass through as UTC.
    """
    root = str(Path(__file__).parents[3])
    paths = [root, os.environ.get("PYTHONPATH", "")]
    return os.environ | {
        "LC_ALL": "C", "LANGUAGE": "C", "TZ": "UTC", "HOME": str(home), "XDG_CONFIG_HOME": str(home),
        "PYTHONPATH": os.pathsep.join(filter(None, paths)),
    } | dict(more)  # fmt: skip


def _high(end: socket.socket) -> socket.socket:
    """The same socket under a descriptor that the library does not close."""
    return socket.socket(fileno=fcntl.fcntl(end.fileno(), fcntl.F_DUPFD_CLOEXEC, LOWEST_DESCRIPTOR))


def _kill(process: asyncio.subprocess.Process) -> None:
    with suppress(ProcessLookupError):
        process.kill()
