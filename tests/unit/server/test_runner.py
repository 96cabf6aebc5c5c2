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
from rigd.server import listen


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
