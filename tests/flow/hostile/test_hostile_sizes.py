"""What is too large, too slow, or too much at once, by raw sockets.

The numbers are the project's own; the attacks are those of the OWASP Denial of Service cheat sheet (slow heads, slow
bodies, slow readers, many connections). Waiting times are set to nothing: what is tested is that they end."""

from __future__ import annotations

import asyncio

import pytest
from starlette.types import Receive, Scope, Send
from tests.flow.hostile.attacks import ask, ended, head, page, parsed, post, send, serving, shake, until
from tests.unit.server.serving import Served

from rigd.server import connections, limits, waits


async def test_a_body_over_64_kib_is_refused_whatever_it_claims(running: Served) -> None:
    before = running.house.desk.state
    answer = await post(running, "/api/job", {"title": "x" * limits.BODY_BYTES}, **page(running))
    assert (answer.status, answer.code) == (413, "too-large")
    short = head(running, "/api/job", "POST", **page(running), Content_Length="5") + b'{"title": "longer"}'
    assert (await send(running, short)).status in (400, 422)
    assert running.house.desk.state is before


async def test_a_stranger_may_not_even_send_it(running: Served) -> None:
    answer = await post(running, "/api/session", b"x" * limits.BODY_BYTES * 4, Origin=running.url)
    assert answer.status in (413, 0)


async def test_bodies_in_chunks_are_refused_before_the_first(running: Served) -> None:
    """A quarter of a megabyte holds forty thousand chunks of one byte, and reading them would hold up everything."""
    fields = {**page(running), "Transfer_Encoding": "chunked"}
    answer = await send(running, head(running, "/api/job", "POST", **fields) + b"1\r\n{\r\n" * 1000)
    assert (answer.status, answer.code) == (411, "no-length")
    both = head(running, "/api/job", "POST", **fields, Content_Length="2") + b"{}"
    assert (await send(running, both)).status in (400, 411), "and never one of two lengths"


@pytest.mark.parametrize(
    "fields",
    [
        {"X": "y" * 20_000}, {"X": "y" * 8_001}, {f"X{number}": "y" for number in range(200)},
        {"Cookie": "; ".join(f"c{number}=x" for number in range(3000))},
    ],
)  # fmt: skip
async def test_a_head_that_is_too_large_is_refused_for_pages_and_lines(
    running: Served, fields: dict[str, str]
) -> None:
    sent = {**page(running), **fields}
    for answer in (await ask(running, "/api/state", **sent), await ask(running, "/api/live", **sent, **shake())):
        assert (answer.status, answer.code) == (431, "too-large")
    assert (await ask(running, "/" + "x" * 17_000)).status == 431


@pytest.mark.parametrize(
    "data",
    [
        b"\x00\x01\x02\r\n\r\n", b"GET\r\n\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03",
        b"GET / HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n", b"GET / HTTP/1.1\r\n folded: x\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nab",
    ],
)  # fmt: skip
async def test_what_is_no_request_is_refused_in_words(
    running: Served, data: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    answer = await send(running, data + b"\r\n\r\n")
    assert (answer.status, answer.code) == (400, "input")
    assert not caplog.records, "and does not fill the log"


@pytest.mark.parametrize("what", ["nothing", "head", "handshake"])
async def test_who_never_says_what_he_wants_is_cut_off(
    running: Served, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    monkeypatch.setattr(connections, "HEAD_SECONDS", 0.2)
    said = {"nothing": b"", "head": b"GET / HTTP/1.1\r\nHost: a\r\n", "handshake": head(running, "/")[:-2]}
    reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
    writer.write(said[what])
    assert await ended(reader) == b""
    writer.close()


async def test_a_body_that_never_comes_is_given_up(running: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "BODY_SECONDS", 0.1)
    reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
    writer.write(head(running, "/api/job", "POST", **page(running), Content_Length="100") + b'{"tit')
    answer = parsed(await ended(reader))
    assert (answer.status, answer.code) == (408, "too-slow")
    writer.close()


async def test_a_body_where_none_is_wanted_does_not_hold_the_connection(
    running: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A GET is answered at once; what still trickles in does not keep its place among the 128."""
    monkeypatch.setattr(connections, "BODY_SECONDS", -0.5)
    reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
    writer.write(head(running, "/healthz", Connection="keep-alive", Content_Length="100000") + b"x")
    assert parsed(await ended(reader)).status == 200
    writer.close()


async def test_who_takes_nothing_of_the_answer_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "STUCK_SECONDS", 0.2)

    async def large(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        for _ in range(64):
            await send({"type": "http.response.body", "body": b"x" * 1_000_000, "more_body": True})

    async with serving(large) as server:
        _, writer = await asyncio.open_connection("127.0.0.1", server.port, limit=1024)
        writer.write(f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n\r\n".encode())
        await until(lambda: len(server.connections) == 1)
        await until(lambda: not server.connections)
        writer.close()


async def test_who_does_not_take_the_end_is_cut_off(running: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line that is ended, and whose peer has stopped reading: its place is free again all the same."""
    monkeypatch.setattr(waits, "LEAVING_SECONDS", 0.2)
    reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port, limit=1024)
    writer.write(head(running, "/api/live", **{**page(running), **shake()}))
    await reader.readline()
    writer.transport.pause_reading()  # type: ignore[attr-defined]  # a socket's transport
    (line,) = running.server.connections
    line.transport.write(b"x" * 16_000_000)
    line.transport.close()
    await until(lambda: not running.server.connections)
    writer.close()


async def test_the_number_of_connections_is_bounded(running: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "CONNECTIONS", 4)
    lines = [await asyncio.open_connection("127.0.0.1", running.server.port) for _ in range(5)]
    assert await ended(lines[4][0]) == b""
    for reader, writer in lines[:4]:
        writer.write(head(running, "/healthz"))
        assert parsed(await ended(reader)).status == 200
        writer.close()
    lines[4][1].close()
    assert (await ask(running, "/healthz")).status == 200, "and a place that is free again is free"


class Stranger:
    """A connection from elsewhere."""

    def __init__(self, address: str) -> None:
        self.client = (address, 1)


def test_no_address_of_the_network_and_no_number_of_them_takes_every_place() -> None:
    one, many = "192.0.2.7", [f"192.0.2.{number}" for number in range(1, 97)]  # RFC 5737
    assert not connections.too_many((one, 1), {Stranger(one) for _ in range(16)})
    assert connections.too_many((one, 1), {Stranger(one) for _ in range(17)})
    assert not connections.too_many((one, 1), {Stranger(address) for address in many})
    assert connections.too_many((one, 1), {Stranger(address) for address in [*many, "192.0.2.99"]})
    crowd = {Stranger(address) for address in many} | {Stranger("127.0.0.1") for _ in range(32)}
    assert not connections.too_many(("127.0.0.1", 1), crowd), "the host's own page has its place"
    assert connections.too_many(("127.0.0.1", 1), crowd | {Stranger("127.0.0.1")})
