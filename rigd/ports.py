"""What the engine asks of the world: small Protocols. Real devices and simulated ones stand behind the same drivers."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Protocol

from msgspec import Struct

from rigd.model.values import CardFile, Exposure


class Choice(Struct, frozen=True):
    """One entry of a camera's menu: its own label and the nominal value (seconds for shutters)."""

    label: str
    value: float


class Body(Struct, frozen=True):
    """What the connected camera is and offers. `lacks` names what could not be read or set, in plain words.
    `clock_offset_s`: camera clock less ours, in seconds, where the camera tells its time."""

    model: str
    serial: str
    shutters: tuple[Choice, ...]
    apertures: tuple[Choice, ...] = ()
    isos: tuple[Choice, ...] = ()
    battery_pct: int | None = None
    card_free_bytes: int | None = None
    live_view: bool = False
    clock_offset_s: float | None = None
    lacks: tuple[str, ...] = ()


class Shot(Struct, frozen=True):
    """The outcome of one trigger: the files that belong to it, seconds from trigger to shutter closed and done,
    and `strays`: files that arrived and were not asked for (never numbered)."""

    files: tuple[CardFile, ...]
    seconds: float
    strays: tuple[CardFile, ...] = ()


class Camera(Protocol):
    """One camera. Every method may raise a CameraError; after CameraLost the shot in flight is unknown."""

    async def connect(self) -> Body:
        """Open the camera and read what it offers. Also after a loss: the same body is expected again."""
        ...

    async def apply(self, want: Exposure) -> Exposure:
        """Set shutter (and aperture, ISO where given), read back and compare; what is in force afterwards."""
        ...

    async def shoot(self, expect_files: int = 1) -> Shot:
        """Drain stale events, release the shutter once, collect the files within exposure + a named allowance."""
        ...

    async def fetch(self, item: CardFile, into: Path) -> int:
        """Copy a file from the card into `into`, which must not exist; the number of bytes written."""
        ...

    async def recover(self) -> Body:
        """Climb the reconnect ladder until the camera answers, or raise CameraMissing. Never triggers."""
        ...

    async def close(self) -> None: ...


class Card(Protocol):
    """The camera's memory card."""

    async def items(self) -> tuple[CardFile, ...]:
        """Everything on the card, oldest first."""
        ...

    async def remove(self, item: CardFile) -> None:
        """Delete one file. Only ever asked for after a second copy was verified."""
        ...


class LiveView(Protocol):
    """Live pictures. A still picture must not be taken before `stop` has returned, where the body says so."""

    async def start(self) -> None: ...

    async def picture(self) -> bytes:
        """The newest live picture as a JPEG."""
        ...

    async def stop(self) -> None: ...


class Clock(Protocol):
    """Time, so that tests can move it."""

    def now(self) -> datetime:
        """The time of day, UTC."""
        ...

    def monotonic(self) -> float:
        """Seconds that never run backwards."""
        ...

    async def sleep(self, seconds: float) -> None: ...
