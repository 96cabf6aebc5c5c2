"""The worker's two threads: one reads the socket, the main one does everything else."""

from __future__ import annotations

import os
import queue
import socket
import threading
import time
from collections.abc import Callable
from pathlib import Path

from msgspec.structs import replace

from rigd.drivers.camera.faults import RULE, needs_probe, translate
from rigd.drivers.camera.frames import Splitter, pack
from rigd.drivers.camera.messages import (
    Applied,
    Apply,
    Ask,
    Close,
    Done,
    Failed,
    Fetch,
    Fetched,
    Gone,
    ListCard,
    Listed,
    LiveOff,
    LiveOn,
    LivePicture,
    Open,
    Opened,
    Picture,
    Remove,
    Reopen,
    Reply,
    Request,
    Shoot,
    Stray,
    Survey,
    Surveyed,
    Taken,
    Tell,
    decode_ask,
    encode,
)  # fmt: skip
from rigd.drivers.camera.usb import holder_of, opening_trouble
from rigd.drivers.camera.worker.device import Trouble
from rigd.drivers.camera.worker.locate import node_of
from rigd.drivers.camera.worker.session import Session
from rigd.errors import CameraMissing, NotReady, RigdError
from rigd.model.values import CardFile
from rigd.ports import Body

CHUNK = 1 << 16  # bytes a read; requests are short
LAST_WORDS_S = 2.0  # after the daemon is gone: enough to leave the camera properly, if the library lets us


class Loop:
    """Requests in, replies out, one at a time, and the idle look once a second."""

    def __init__(self, link: socket.socket) -> None:
        self._link = link
        self._asks: queue.SimpleQueue[Ask | None] = queue.SimpleQueue()
        self._session: Session | None = None
        self._idle_s = 1.0
        self._gone = False

    def run(self) -> None:
        """Until the daemon says Close or its end of the socket closes."""
        threading.Thread(target=self._listen, name="link", daemon=True).start()
        while (ask := self._next()) is not None:
            self._tell(Tell(ask.number, self._answer(ask.request)))
            if isinstance(ask.request, Close):
                return
        self._leave()

    def _listen(self) -> None:
        splitter = Splitter()
        try:
            while data := self._link.recv(CHUNK):
                for message in splitter.feed(data):
                    self._asks.put(decode_ask(message))
        except (OSError, ValueError):
            pass
        self._asks.put(None)
        # The main thread may hang in the library and never come to read that.
        time.sleep(LAST_WORDS_S)
        os._exit(1)

    def _next(self) -> Ask | None:
        while True:
            try:
                return self._asks.get(timeout=self._idle_s)
            except queue.Empty:
                self._look_around()

    def _look_around(self) -> None:
        if self._session is None or self._gone:
            return
        try:
            self._session.idle()
        except (Trouble, RigdError) as error:
            self._gone = True
            self._tell(Tell(0, Gone(self._failure(error))))

    def _tell(self, tell: Tell) -> None:
        try:
            self._link.sendall(pack(encode(tell)))
        except OSError:
            self._asks.put(None)

    def _answer(self, request: Request) -> Reply:
        try:
            return self._do(request)
        except (Trouble, RigdError) as error:
            return self._failure(error)

    def _do(self, request: Request) -> Reply:
        match request:
            case Open(config=config, serial=serial):
                self._leave()
                self._session = Session(config, self._stray)
                self._idle_s = config.allow.idle_s
                return self._opened(lambda session: session.open(serial))
            case Reopen(reset=reset):
                return self._opened(lambda session: session.reopen(reset))
            case Apply(want=want):
                return Applied(self._open.apply(want))
            case Shoot(expect=expect):
                return Taken(self._open.shoot(expect))
            case Fetch(item=item, into=into):
                return Fetched(self._open.fetch(item, Path(into)))
            case ListCard():
                return Listed(self._open.items())
            case Remove(item=item):
                self._open.remove(item)
            case LiveOn():
                self._open.live.on()
            case LivePicture():
                return Picture(self._open.live.picture())
            case LiveOff():
                self._open.live.off()
                self._open.drain()
            case Survey():
                return Surveyed(self._open.survey())
            case Close():
                self._leave()
        return Done()

    def _opened(self, how: Callable[[Session], Body]) -> Opened:
        """Nothing is asked of the camera in idle time until it is open again."""
        self._gone = True
        body = how(self._open)
        self._gone = False
        return Opened(body)

    @property
    def _open(self) -> Session:
        if self._session is None:
            raise NotReady("The camera is not connected.", "", "Connect it first.")
        return self._session

    def _leave(self) -> None:
        if self._session is not None:
            self._session.close()
            self._session = None

    def _stray(self, file: CardFile) -> None:
        self._tell(Tell(0, Stray((file,))))

    def _failure(self, error: Trouble | RigdError) -> Failed:
        if isinstance(error, Trouble):
            error = self._translated(error)
        return Failed(error.code, error.what, error.why, error.remedy)

    def _translated(self, trouble: Trouble) -> RigdError:
        fault = trouble.fault
        if needs_probe(fault) and self._session is not None:
            fault = replace(fault, alive=self._session.alive())
        node = node_of(self._session.port) if self._session is not None else None
        barred = opening_trouble(Path(node)) if node and fault.stage == "open" else ""
        if barred:
            return CameraMissing("The camera is there, and may not be opened.", barred, RULE)
        return translate(fault, trouble.words, holder_of(node) if node else "")
