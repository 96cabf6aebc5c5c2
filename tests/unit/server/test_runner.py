"""Serving inside a task group: the port, a clean stop with a line open, signals left alone, limits on connections."""

from __future__ import annotations

import asyncio
import signal
from pathlib import Path

import httpx
import pytest
from tests.unit.server.serving import served
from websockets.asyncio.client import connect

from rigd.errors import InputError
from rigd.server import connections, listen


async def test_port_0_is_reported_and_answers(tmp_path: Path) -> None:
    async with served(tmp_path) as running, httpx.AsyncClient(trust_env=False) as stranger:
        assert running.server.port > 0
        assert (await stranger.get(f"{running.url}/healthz")).json() == {"ok": True}


def test_a_taken_port_is_said_plainly() -> None:
    with listen("127.0.0.1", 0) as held, pytest.raises(InputError) as refused:
        listen("127.0.0.1", held.getsockname()[1])
    assert "--port" in refused.value.remedy


async def test_it_stops_with_a_line_open_and_leaves_signals_alone(tmp_path: Path) -> None:
    before = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)]
    async with served(tmp_path) as running:
        socket = await connect(running.live_url, additional_headers=running.page)
        await socket.recv()
        assert [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)] == before
    await socket.wait_closed()
    async with httpx.AsyncClient(trust_env=False) as stranger:
        with pytest.raises(httpx.ConnectError):
            await stranger.get(f"{running.url}/healthz")


async def test_cancelling_it_closes_the_lines_too(tmp_path: Path) -> None:
    async with served(tmp_path) as running:
        socket = await connect(running.live_url, additional_headers=running.page)
        await socket.recv()
        serving = next(task for task in asyncio.all_tasks() if "WebServer.run" in repr(task.get_coro()))
        serving.cancel()
        await socket.wait_closed()


async def test_a_client_that_never_says_what_it_wants_is_cut_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "HEAD_SECONDS", 0.0)
    async with served(tmp_path) as running:
        reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
        assert await asyncio.wait_for(_end(reader), 10) == b""
        writer.close()


async def test_one_connection_too_many_is_cut_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "CONNECTIONS", 2)
    async with served(tmp_path) as running:
        lines = [await asyncio.open_connection("127.0.0.1", running.server.port) for _ in range(3)]
        assert await asyncio.wait_for(_end(lines[2][0]), 10) == b""
        for reader, writer in lines[:2]:
            writer.write(f"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1:{running.server.port}\r\n\r\n".encode())
            assert (await asyncio.wait_for(reader.readline(), 10)).startswith(b"HTTP/1.1 200")
        for _, writer in lines:
            writer.close()


@pytest.mark.parametrize(
    "path", ["/../pyproject.toml", "/%2e%2e/pyproject.toml", "//etc/passwd", "/base/..%2f..%2frigd/errors.py"]
)
async def test_the_page_is_a_folder_without_a_way_out(tmp_path: Path, path: str) -> None:
    async with served(tmp_path) as running:
        reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
        writer.write(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{running.server.port}\r\n\r\n".encode())
        assert (await asyncio.wait_for(reader.readline(), 10)).startswith(b"HTTP/1.1 404")
        writer.close()


async def _end(reader: asyncio.StreamReader) -> bytes:
    """What comes until the peer closes or cuts the connection."""
    try:
        return await reader.read()
    except ConnectionResetError:
        return b""
