"""What an attacker has: raw sockets, headers of his choice, and every route that the program itself describes."""

from __future__ import annotations

import asyncio
import base64
import contextlib
import json
import os
import re
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.types import ASGIApp
from tests.unit.server.serving import House, Served, served

from rigd.operations import rolls
from rigd.server import Door, Role, WebServer, listen

# A marked word in files that nobody may read by HTTP.
SECRET = "the-harbour-master-sleeps-at-noon"
LABEL = "North quay 3"


@dataclass(frozen=True)
class Answer:
    """One HTTP answer; status 0: the connection ended without one."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def code(self) -> str:
        """The problem's code; "" where it is none."""
        kind = self.headers.get("content-type", "")
        return str(json.loads(self.body)["code"]) if kind == "application/problem+json" else ""


@contextlib.asynccontextmanager
async def target(tmp_path: Path, **how: Any) -> AsyncIterator[Served]:
    """A served job with a roll and a strip in it, and secrets beside and above its folder."""
    root = tmp_path / "job"
    root.mkdir()
    for place in (tmp_path / "secret.txt", root / "secret.txt"):
        place.write_text(SECRET)
    async with served(root, **how) as running:
        desk = running.house.desk
        await rolls.open_job(desk, title="Port of Vessling")
        roll = await rolls.plan_roll(desk, label=LABEL, film_format_name="120-6x6", expected=(12, 12))
        await rolls.open_roll(desk, roll_id=roll.roll_id)
        await rolls.load_strip(desk, places=4)
        yield running


def head(running: Served, path: str, method: str = "GET", **fields: str | None) -> bytes:
    """The head of a request; underscores in names are dashes; a field that is None is left out."""
    host = running.url.removeprefix("http://")
    named = {"Host": host, "Connection": "close", **{name.replace("_", "-"): text for name, text in fields.items()}}
    lines = [f"{name}: {text}" for name, text in named.items() if text is not None]
    return "\r\n".join([f"{method} {path} HTTP/1.1", *lines, "", ""]).encode("latin-1")


def page(running: Served, role: Role = Role.HOST) -> dict[str, str]:
    """The fields that the page of such a session sends with a command."""
    return {"Origin": running.url, "Content_Type": "application/json", **running.house.cookie(role)}


def shake() -> dict[str, str]:
    """The fields of a WebSocket handshake, RFC 6455 section 4.1."""
    key = base64.b64encode(os.urandom(16)).decode()
    return {"Upgrade": "websocket", "Connection": "Upgrade", "Sec_WebSocket_Key": key, "Sec_WebSocket_Version": "13"}


async def send(running: Served, data: bytes) -> Answer:
    """Send these bytes, and read the answer to the end of its connection."""
    reader, writer = await asyncio.open_connection("127.0.0.1", running.server.port)
    with contextlib.suppress(ConnectionError):
        writer.write(data)
    try:
        return parsed(await asyncio.wait_for(_all(reader), 30))
    finally:
        writer.close()


async def ask(running: Served, path: str, **fields: str | None) -> Answer:
    return await send(running, head(running, path, **fields))


async def post(running: Served, path: str, body: bytes | str | Mapping[str, Any], **fields: str | None) -> Answer:
    """A POST with its length; a mapping goes as JSON."""
    raw = body if isinstance(body, bytes) else (body if isinstance(body, str) else json.dumps(body)).encode()
    return await send(running, head(running, path, "POST", **{"Content_Length": str(len(raw)), **fields}) + raw)


@contextlib.asynccontextmanager
async def serving(app: ASGIApp) -> AsyncIterator[WebServer]:
    """Our server with another app, on a free port."""
    server = WebServer(app, Door(listen("127.0.0.1", 0)))
    async with asyncio.TaskGroup() as group:
        running = group.create_task(server.run())
        try:
            yield server
        finally:
            server.stop()
            await asyncio.gather(running, return_exceptions=True)


async def until(true: Callable[[], bool]) -> None:
    """Wait for it; half a minute at most."""
    async with asyncio.timeout(30):
        while not true():  # noqa: ASYNC110 - the other side is another task or the kernel
            await asyncio.sleep(0.01)


def parsed(data: bytes) -> Answer:
    top, _, body = data.partition(b"\r\n\r\n")
    lines = top.decode("latin-1").split("\r\n")
    if len(lines[0].split()) < 2:
        return Answer(0, {}, data)
    fields = dict(line.lower().split(": ", 1) for line in lines[1:] if ": " in line)
    return Answer(int(lines[0].split()[1]), fields, body)


async def ended(reader: asyncio.StreamReader) -> bytes:
    """What still comes until the peer closes or cuts the connection."""
    return await asyncio.wait_for(_all(reader), 30)


async def _all(reader: asyncio.StreamReader) -> bytes:
    parts = []
    with contextlib.suppress(ConnectionError):
        while part := await reader.read(65536):
            parts.append(part)
    return b"".join(parts)


def routes(home: House) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every route, as the app describes itself: method, path with its blanks, description."""
    for path, methods in home.app.openapi()["paths"].items():
        for method, told in methods.items():
            yield method.upper(), path, told


def filled(path: str, text: str) -> str:
    """The path with each of its blanks filled with that text."""
    return re.sub(r"\{\w+\}", lambda _: text, path)


def example(home: House, told: dict[str, Any]) -> dict[str, Any]:
    """The example of a route's body."""
    content = told.get("requestBody", {}).get("content", {}).get("application/json", {})
    if "example" in content:
        return dict(content["example"])
    name = content.get("schema", {}).get("$ref", "").rpartition("/")[2]
    schema = home.app.openapi()["components"]["schemas"].get(name, {})
    return dict(schema.get("examples", [{}])[0])
