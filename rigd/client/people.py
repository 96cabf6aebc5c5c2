"""Letting devices in, listing and sending them away, and who works the rig, by HTTP: a running daemon's alone."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct

from rigd.client.running import Done
from rigd.client.wire import Wire


class Offered(Struct, frozen=True):
    """What to show to a device that is to be let in, once: a link, or letters to type at one of the addresses."""

    link: str
    typed: str
    addresses: tuple[str, ...]
    role: str
    until: datetime


class Device(Struct, frozen=True):
    """A device that was let in. `here`: a page of it is open; `control`: it works the rig."""

    id: int
    name: str
    role: str
    made_at: datetime
    seen_at: datetime
    address: str
    here: bool
    control: bool


class LetIn(Struct, frozen=True):
    """A program that was let in, and its token."""

    id: int
    name: str
    token: str


class People:
    """The host's verbs about devices."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    async def pair(self, *, role: str) -> Offered:
        """Open pairing for one device, for ten minutes."""
        return await self._wire.post("/api/pairing", {"role": role}, Offered)

    async def shut(self) -> None:
        """Let nobody in any more."""
        await self._wire.post("/api/pairing/shut", {}, Done)

    async def devices(self) -> tuple[Device, ...]:
        return await self._wire.get("/api/devices", tuple[Device, ...])

    async def revoke(self, *, device_id: int) -> None:
        """End a device's session. Raises NotFound."""
        await self._wire.post(f"/api/devices/{device_id}/revoke", {}, Done)

    async def let_in(self, *, name: str, role: str) -> LetIn:
        """Let a program in by a token."""
        return await self._wire.post("/api/devices", {"name": name, "role": role}, LetIn)

    async def free(self) -> None:
        """Take control away from whoever works the rig."""
        await self._wire.post("/api/control", {"hold": False}, dict)
