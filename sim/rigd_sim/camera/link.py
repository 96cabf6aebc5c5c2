"""One TCP connection as the camera sees it: messages in, bytes out."""

from __future__ import annotations

import asyncio
import socket
import time
from collections.abc import AsyncIterator

from rigd_sim.camera import wire
from rigd_sim.camera.reader import PacketReader

CHUNK = 256 << 10  # bytes read at once

_QUICKACK: int | None = getattr(socket, "TCP_QUICKACK", None)  # Linux; other systems acknowledge soon enough
JUNK = wire.HEADER.pack(64, 0xBAD) + bytes(range(0xC0, 0xC0 + 56))
"""A packet of the right length and no known type: what `garble` sends."""


class Link:
    """A connected socket. Reading goes on until the peer closes; sending never copies.

    heard: when the latest bytes were read, in seconds of the machine's monotonic clock.
    """

    def __init__(self, sock: socket.socket) -> None:
        sock.setblocking(False)
        sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._sock = sock
        self._reader = PacketReader()
        self._closed = asyncio.Event()
        self.heard = 0.0

    async def messages(self) -> AsyncIterator[wire.Message]:
        """What the peer sends, until it closes or resets the connection. Raises WireError."""
        while data := await self._receive():
            for message in self._reader.feed(data):
                yield message

    async def _receive(self) -> bytes:
        """The initiator leaves Nagle's algorithm on: without a prompt ACK each second small write of it waits 40 ms."""
        try:
            if _QUICKACK is not None:
                self._sock.setsockopt(socket.IPPROTO_TCP, _QUICKACK, 1)
            data = await asyncio.get_running_loop().sock_recv(self._sock, CHUNK)
            self.heard = time.monotonic()
            return data
        except OSError:
            return b""

    async def send(self, data: bytes | memoryview) -> None:
        """Raises OSError when the peer is gone."""
        await asyncio.get_running_loop().sock_sendall(self._sock, data)

    async def send_message(self, message: wire.Message) -> None:
        await self.send(wire.encode(message))

    def close(self) -> None:
        self._sock.close()
        self._closed.set()

    async def closed(self) -> None:
        await self._closed.wait()
