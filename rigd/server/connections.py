"""One TCP connection: how many there may be, and how long a client may take to say what it wants."""

from __future__ import annotations

import asyncio
from ipaddress import ip_address

from uvicorn.protocols.http.h11_impl import H11Protocol

# Eight phones with a handful of connections each, and the page of the host, stay well under it.
CONNECTIONS = 128
AN_ADDRESS = 16
HEAD_SECONDS = 5.0


class Line(H11Protocol):
    """uvicorn's HTTP/1.1 connection with our limits: 128 in all, 16 an address off loopback, 5 s for a head."""

    _patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as its parent does
        super().connection_made(transport)
        if self._too_many():
            transport.abort()
            return
        self._wait_for_head()

    def data_received(self, data: bytes) -> None:
        if self._patience is None and (self.cycle is None or self.cycle.response_complete):
            self._wait_for_head()
        super().data_received(data)

    def handle_events(self) -> None:
        before = self.scope
        super().handle_events()
        if self.scope is not before:
            self._be_patient()

    def connection_lost(self, exc: Exception | None) -> None:
        self._be_patient()
        super().connection_lost(exc)

    def _wait_for_head(self) -> None:
        self._patience = self.loop.call_later(HEAD_SECONDS, self.transport.abort)

    def _be_patient(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None

    def _too_many(self) -> bool:
        if len(self.connections) > CONNECTIONS:
            return True
        address = self.client[0] if self.client else ""
        if not address or ip_address(address).is_loopback:
            return False
        clients: list[tuple[str, int] | None] = [getattr(other, "client", None) for other in self.connections]
        return sum(client is not None and client[0] == address for client in clients) > AN_ADDRESS
