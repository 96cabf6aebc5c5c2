"""Run the app inside somebody else's task group: its own sockets, a clean stop, no signal handler taken."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import Iterator, Sequence
from typing import Any

import uvicorn
from starlette.types import ASGIApp

from rigd.server.connections import HEAD_BYTES, HEAD_SECONDS, Line
from rigd.server.doors import Door, listen
from rigd.server.live_socket import LiveSocket
from rigd.server.waits import cut_overdue

__all__ = ["WebServer", "listen"]

# Time for a running request to end at stop; nothing that a request waits for takes longer than a step of the cycle.
STOP_SECONDS = 5
MESSAGE_BYTES = 64 * 1024
# A page that went away without a word, as a phone does that falls asleep, holds control no longer than both together.
# Pictures may stand before the ping in a slow line, so its answer is waited for longer.
PING_SECONDS, PONG_SECONDS = 5.0, 10.0


class _Quiet(uvicorn.Server):
    """uvicorn's server without its signal handlers (stopping is the task group's business), on several doors that
    share one count of connections."""

    def __init__(self, config: uvicorn.Config, doors: Sequence[Door]) -> None:
        super().__init__(config)
        self._doors = doors

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        loop = asyncio.get_running_loop()
        self.servers = []
        for door in self._doors:
            # Whoever opens a connection and does not shake hands is sent away as one who does not say what he wants.
            patience = HEAD_SECONDS if door.tls else None
            self.servers.append(
                await loop.create_server(self._line, sock=door.sock, ssl=door.tls, ssl_handshake_timeout=patience)
            )
        self.started = True

    async def on_tick(self, counter: int) -> bool:
        """uvicorn calls this ten times a second."""
        cut_overdue(self.server_state.connections)  # type: ignore[arg-type]  # all of them are ours
        return await super().on_tick(counter)

    def _line(self) -> Line:
        return Line(self.config, self.server_state, {})


class WebServer:
    """`run()` serves until `stop()` or cancellation. `port` is that of the first door."""

    def __init__(self, app: ASGIApp, *doors: Door) -> None:
        self._doors = doors
        config = uvicorn.Config(
            app, http=Line, ws=LiveSocket, ws_per_message_deflate=False, ws_max_size=MESSAGE_BYTES,
            ws_ping_interval=PING_SECONDS, ws_ping_timeout=PONG_SECONDS, h11_max_incomplete_event_size=HEAD_BYTES,
            timeout_graceful_shutdown=STOP_SECONDS, lifespan="off", log_config=None, log_level="error",
            access_log=False, server_header=False, date_header=False, proxy_headers=False,
        )  # fmt: skip
        self._server = _Quiet(config, doors)
        self.port = doors[0].port

    async def run(self) -> None:
        """Serve. On cancellation the open lines are closed first."""
        sockets = [door.sock for door in self._doors]
        try:
            await self._server.serve(sockets=sockets)
        except asyncio.CancelledError:
            if self._server.started:
                await self._server.shutdown(sockets=sockets)
            raise
        finally:
            for sock in sockets:
                sock.close()

    @property
    def connections(self) -> frozenset[Any]:
        """Those that are open now."""
        return frozenset(self._server.server_state.connections)

    def stop(self) -> None:
        """Ask `run()` to end; it returns when the running requests have been answered."""
        self._server.should_exit = True
