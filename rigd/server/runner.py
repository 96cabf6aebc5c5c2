"""Run the app inside somebody else's task group: its own socket, a clean stop, no signal handler taken."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import Iterator

import uvicorn
from starlette.types import ASGIApp

from rigd.errors import InputError
from rigd.server.connections import Line

# Time for a running request to end at stop; nothing that a request waits for takes longer than a step of the cycle.
STOP_SECONDS = 5
MESSAGE_BYTES = 64 * 1024
# Longest head of a request: the page's own are under 1 KiB.
HEAD_BYTES = 16 * 1024


def listen(host: str, port: int) -> socket.socket:
    """A listening socket on that address; port 0 lets the system choose (`getsockname()[1]` tells which).

    Raises:
        InputError: the address is not this machine's, or the port is taken.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    try:
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind((host, port))
        sock.listen(128)
    except OSError as error:
        sock.close()
        raise InputError(
            f"rigd cannot listen on {host}, port {port}.", f"{error.strerror}.",
            "Choose another port with --port, or 0 for any free one.",
        ) from error  # fmt: skip
    return sock


class _Quiet(uvicorn.Server):
    """uvicorn's server without its signal handlers: stopping is the task group's business."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


class WebServer:
    """`run()` serves until `stop()` or cancellation; `started` is set once it answers."""

    def __init__(self, app: ASGIApp, sock: socket.socket) -> None:
        self._sock = sock
        self._server = _Quiet(
            uvicorn.Config(
                app, http=Line, ws="websockets-sansio", ws_per_message_deflate=False, ws_max_size=MESSAGE_BYTES,
                h11_max_incomplete_event_size=HEAD_BYTES, timeout_graceful_shutdown=STOP_SECONDS, lifespan="off",
                log_config=None, access_log=False, server_header=False, date_header=False, proxy_headers=False,
            )
        )  # fmt: skip
        self.port: int = sock.getsockname()[1]

    async def run(self) -> None:
        """Serve. On cancellation the open lines are closed first."""
        try:
            await self._server.serve(sockets=[self._sock])
        except asyncio.CancelledError:
            if self._server.started:
                await self._server.shutdown(sockets=[self._sock])
            raise
        finally:
            self._sock.close()

    def stop(self) -> None:
        """Ask `run()` to end; it returns when the running requests have been answered."""
        self._server.should_exit = True
