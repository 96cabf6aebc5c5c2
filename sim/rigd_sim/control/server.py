"""The control socket's server: one JSON object a line, {"id", "verb", "args"} to {"id", "ok", "result" or "error"}."""

from __future__ import annotations

import asyncio
import inspect
import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

Verb = Callable[..., object]
"""Takes the request's args as keywords and returns what JSON can say, or an awaitable of it."""

LIMIT = 1 << 20  # bytes a line; requests are short


class ControlServer:
    """Serves a table of verbs on a Unix socket that only the owner may open. Any number of clients."""

    def __init__(self, path: Path, verbs: Mapping[str, Verb]) -> None:
        self._path, self._verbs = path, verbs
        self._server: asyncio.Server | None = None
        self._clients: set[asyncio.Task[None]] = set()

    async def open(self) -> None:
        """Raises OSError, also when the path is in use or too long for a socket (about 100 bytes)."""
        self._server = await asyncio.start_unix_server(self._client, self._path, limit=LIMIT)
        self._path.chmod(0o600)

    async def close(self) -> None:
        if self._server is not None:
            self._server.close()
        for client in self._clients:
            client.cancel()
        await asyncio.gather(*self._clients, return_exceptions=True)
        self._path.unlink(missing_ok=True)

    async def _client(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        self._clients.add(task)
        try:
            while line := await reader.readline():
                writer.write(json.dumps(await self._reply(line), default=_plain).encode() + b"\n")
                await writer.drain()
        except (OSError, ValueError, asyncio.CancelledError):
            pass  # the client is gone, or its line had no end, or the server closes
        finally:
            self._clients.discard(task)
            writer.close()
            with suppress(OSError):
                await writer.wait_closed()

    async def _reply(self, line: bytes) -> dict[str, object]:
        number: object = None
        try:
            request = json.loads(line)
            number = request["id"]
            return {"id": number, "ok": True, "result": await self._do(request["verb"], request["args"])}
        except Exception as error:  # whatever goes wrong belongs to the one who asked
            return {"id": number, "ok": False, "error": f"{type(error).__name__}: {error}"}

    async def _do(self, verb: str, args: dict[str, object]) -> object:
        if verb not in self._verbs:
            raise LookupError(f"no verb {verb!r}; there are {', '.join(sorted(self._verbs))}")
        result = self._verbs[verb](**args)
        return await result if inspect.isawaitable(result) else result


def _plain(value: object) -> object:
    """What JSON has no word for: arrays and numbers of numpy as lists and numbers, the rest as text."""
    to_list = getattr(value, "tolist", None)
    return to_list() if callable(to_list) else str(value)
