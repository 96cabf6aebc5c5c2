"""The operator's phone: HTTP for what is pressed, the live line for what is heard."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import Any

import httpx
from websockets.asyncio.client import ClientConnection, connect

Event = dict[str, Any]


class Refused(RuntimeError):
    """rigd refused a command; the text is what it said."""


class Phone:
    """One session with the daemon. `events` from the live line are kept in order, each read once."""

    def __init__(self, url: str, token: str, line: ClientConnection) -> None:
        self._line = line
        self._http = httpx.AsyncClient(base_url=url, headers={"Authorization": f"Bearer {token}"}, timeout=30.0)
        self._events: asyncio.Queue[Event] = asyncio.Queue()

    async def listen(self) -> None:
        """Take in messages until the line ends."""
        async for message in self._line:
            said = json.loads(message) if isinstance(message, str) else {}
            if said.get("kind") == "event":
                self._events.put_nowait(said["event"])

    async def press(self, path: str, **body: object) -> Event:
        """POST a command and return its answer. Raises Refused."""
        reply = await self._http.post(path, json=body)
        said: Event = reply.json() if reply.content else {}
        if reply.is_error:
            raise Refused(" ".join(str(said.get(k, "")) for k in ("title", "detail", "remedy")))
        return said

    async def trigger(self, target: str) -> None:
        """Press the trigger for the frame that the hand sees in the gate."""
        await self.press("/api/trigger", nonce=secrets.token_hex(8), target=target)

    async def hear(self, wanted: Callable[[Event], bool], seconds: float = 60.0) -> Event:
        """The next event that fits. Raises TimeoutError."""
        async with asyncio.timeout(seconds):
            while True:
                event = await self._events.get()
                if wanted(event):
                    return event

    async def close(self) -> None:
        await self._http.aclose()


@asynccontextmanager
async def phone(url: str, token: str) -> AsyncIterator[Phone]:
    """A phone on the live line, as long as the block runs."""
    line_url = url.replace("http", "ws", 1) + "/api/live"
    headers = {"Authorization": f"Bearer {token}"}
    async with connect(line_url, additional_headers=headers, compression=None, max_size=None) as line:
        device = Phone(url, token, line)
        listening = asyncio.create_task(device.listen(), name="listen")
        try:
            yield device
        finally:
            listening.cancel()
            await asyncio.gather(listening, return_exceptions=True)
            await device.close()
