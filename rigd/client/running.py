"""Verbs of the running rig, by HTTP. Contracts and errors as in `rigd.operations.running`."""

from __future__ import annotations

import secrets

from msgspec import Struct

from rigd.client.wire import Wire
from rigd.operations.running import Accepted


class Done(Struct):
    """The daemon carried it out."""

    done: bool


class Running:
    """Orders return once they are accepted: the daemon carries them out."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    async def trigger(self, *, nonce: str = "", target: str | None = None) -> Accepted:
        return await self._wire.post("/api/trigger", {"nonce": nonce or _nonce(), "target": target}, Accepted)

    async def retake(self, *, nonce: str = "", frame_id: str | None = None) -> Accepted:
        return await self._wire.post("/api/retake", {"nonce": nonce or _nonce(), "frame_id": frame_id}, Accepted)

    async def skip(self, *, target: str | None = None) -> Accepted:
        return await self._wire.post("/api/skip", {"target": target}, Accepted)

    async def back(self) -> Accepted:
        return await self._wire.post("/api/back", {}, Accepted)

    async def undo(self) -> None:
        await self._wire.post("/api/undo", {}, Done)

    async def measure_gate(self) -> Accepted:
        return await self._wire.post("/api/gate", {}, Accepted)

    async def arm(self) -> None:
        await self._wire.post("/api/arm", {}, Done)

    async def disarm(self) -> None:
        await self._wire.post("/api/disarm", {}, Done)

    async def pause(self) -> None:
        await self._wire.post("/api/pause", {}, Done)

    async def resume(self) -> None:
        await self._wire.post("/api/resume", {}, Done)

    async def stop(self) -> None:
        await self._wire.post("/api/stop", {}, Done)

    async def recover(self) -> None:
        await self._wire.post("/api/recover", {}, Done)

    async def quit(self) -> None:
        """End the daemon, after the step in hand."""
        await self._wire.post("/api/quit", {}, Done)


def _nonce() -> str:
    return secrets.token_hex(12)
