"""A live line in hostile hands, by raw frames: floods, tiny frames, fragments, lies about lengths, and nothing read.

Sources: RFC 6455 sections 5 and 7.4.1 (frames, close codes) and 10.4 (limits), OWASP WebSocket cheat sheet. Two hundred
frames and twenty commands a second are the project's own numbers."""

from __future__ import annotations

import asyncio
import contextlib
import struct
from collections.abc import AsyncIterator

import pytest
from tests.flow.hostile.attacks import ended, head, page, shake, until
from tests.unit.server.serving import Served
from websockets.asyncio.client import connect

from rigd.hub import Hub
from rigd.model.events import Paused, Resumed
from rigd.server import Role
from rigd.server.live_socket import LiveSocket

TEXT, BINARY, CONT, CLOSE, PING, PONG = 0x1, 0x2, 0x0, 0x8, 0x9, 0xA
MASK = b"\x01\x02\x03\x04"


def frame(kind: int, data: bytes = b"", last: bool = True, mask: bool = True, length: int | None = None) -> bytes:
    """One frame of a client, RFC 6455 section 5.2; `length`: what it says, where that is a lie."""
    said = len(data) if length is None else length
    top = bytes([kind | (0x80 if last else 0)])
    bit = 0x80 if mask else 0
    if said < 126:
        size = bytes([bit | said])
    else:
        many, form = (126, "!H") if said < 1 << 16 else (127, "!Q")
        size = bytes([bit | many]) + struct.pack(form, said)
    body = bytes(byte ^ MASK[i % 4] for i, byte in enumerate(data)) if mask else data
    return top + size + (MASK if mask else b"") + body


@contextlib.asynccontextmanager
async def line(running: Served) -> AsyncIterator[tuple[asyncio.StreamReader, asyncio.StreamWriter]]:
    """A live line of an operator, after its handshake."""
    reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
    writer.write(head(running, "/api/live", **{**page(running, Role.OPERATOR), **shake()}))
    assert b" 101 " in await reader.readline()
    await reader.readuntil(b"\r\n\r\n")
    try:
        yield reader, writer
    finally:
        writer.close()


async def close_code(reader: asyncio.StreamReader) -> int:
    """The code of the close frame that ends the line; 0: it was cut."""
    said = await ended(reader)
    at = said.rfind(bytes([0x80 | CLOSE]))
    return int(struct.unpack("!H", said[at + 2 : at + 4])[0]) if at >= 0 and len(said) >= at + 4 else 0


@pytest.mark.parametrize(
    ("what", "data", "codes"),
    [
        ("tiny messages", frame(TEXT) * 40_000, {1003, 1008}),
        ("acknowledgements", frame(TEXT, b'{"kind":"seen","picture":1}') * 5_000, {1008}),
        ("pings", frame(PING, b"x" * 100) * 5_000, {1008}),
        ("pongs nobody asked for", frame(PONG) * 5_000, {1008}),
        ("fragments without end", frame(TEXT, b"{", last=False) + frame(CONT, b"", last=False) * 40_000, {1008}),
        ("commands", frame(TEXT, b'{"kind":"fresh"}') * 60, {1008}),
        ("a long message", frame(TEXT, b"x" * 70_000), {1009}),
        ("a message that says it is endless", frame(TEXT, b"x", length=1 << 40), {1009}),
        ("a long one in pieces", (frame(TEXT, b"x" * 40_000, last=False) + frame(CONT, b"x" * 40_000)), {1009}),
        ("bytes", frame(BINARY, b"\x00\xff"), {1003}),
        ("no text", frame(TEXT, b"\xff\xfe"), {1007}),
        ("no mask", frame(TEXT, b"{}", mask=False), {1002}),
        ("a kind that is not", frame(0x3, b"x"), {1002}),
        ("reserved bits", bytes([0x70 | 0x81, 0x80]) + MASK, {1002}),
        ("a continuation of nothing", frame(CONT, b"x"), {1002}),
        ("a ping that is too long", frame(PING, b"x" * 126), {1002}),
        ("deep", frame(TEXT, b"[" * 60_000), {1003}),
        ("a number that is too large", frame(TEXT, b'{"kind":"ask","seq":' + b"9" * 5000 + b"}"), {1003}),
        ("a rate out of range", frame(TEXT, b'{"kind":"watch","live":true,"rate":1000}'), {1003}),
    ],
)  # fmt: skip
async def test_a_hostile_line_is_ended_and_no_other_one_notices(
    running: Served, what: str, data: bytes, codes: set[int], caplog: pytest.LogCaptureFixture
) -> None:
    headers = {"Origin": running.url, **running.house.cookie()}
    async with connect(running.live_url, additional_headers=headers, compression=None) as other:
        await other.recv()
        async with line(running) as (reader, writer):
            with contextlib.suppress(ConnectionError):
                writer.write(data)
            assert await close_code(reader) in codes | {0}, what
        await other.send('{"kind":"fresh"}')
        assert '"kind":"snapshot"' in str(await other.recv())
        await until(lambda: len(running.house.guard.control.present) == 1)
    assert not [record for record in caplog.records if record.levelname == "ERROR"], "and nothing is amiss inside"


async def test_what_comes_in_one_piece_is_read_in_slices(running: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty thousand frames in a quarter of a megabyte are not all read before the first pause: the line is cut after
    the first few hundred."""
    seen: list[int] = []
    plain = LiveSocket.handle_events

    def counted(self: LiveSocket) -> None:
        seen.append(len(self.conn.events))
        plain(self)

    monkeypatch.setattr(LiveSocket, "handle_events", counted)
    async with line(running) as (reader, writer):
        writer.write(frame(PONG) * 40_000)
        await ended(reader)
    assert sum(seen) < 1000


async def test_who_reads_nothing_keeps_nobody_waiting_and_fills_no_memory(running: Served) -> None:
    """The events of a day at once: the line that takes nothing falls behind and is bounded; the other one has all."""
    hub = running.house.desk.hub
    headers = {"Origin": running.url, **running.house.cookie()}
    async with line(running) as (_, writer):
        writer.transport.pause_reading()  # type: ignore[attr-defined]  # a socket's transport
        async with connect(running.live_url, additional_headers=headers, compression=None) as other:
            await other.recv()
            for _ in range(40):
                await hub.append(*[Paused("x" * 100), Resumed("x" * 100)] * 50)
                for _ in range(100):
                    await asyncio.wait_for(other.recv(), 30)
            assert all(len(listener._waiting) <= Hub.LIMIT for listener in hub._listeners)
            assert all(one.transport.get_write_buffer_size() < 1_000_000 for one in running.server.connections)
