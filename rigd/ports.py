"""What the engine asks of the world: small Protocols. Real devices and simulated ones stand behind the same drivers."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Literal, Protocol

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


class Drive(Struct, frozen=True):
    """What the connected film advancer is and offers. `span_mm`: the longest single motion it allows itself;
    `top_mm_s`: its highest speed; `pedals`: how many it has inputs for; `colours`: what its lamp can show."""

    name: str
    version: str
    mm_per_step: float
    span_mm: float
    top_mm_s: float
    pedals: int
    colours: tuple[str, ...]


class Place(Struct, frozen=True):
    """Where the film rests, in mm of travel since the place was last declared (forwards positive).

    `sure`: False where steps may have been lost (restart, stop, stuck film, motor let go): the place must be found
    again before it is trusted. `film`: whether the film sensor sees film. `why`: how the last motion ended: `done`,
    `seen` (what was sought came), `end` (the film's end passed), `halt`, `silent`, `time`, `stop`, `stall`, `fault`,
    or `none`. `edge_mm`: where an end of the film passed the sensor during that motion."""

    mm: float
    sure: bool
    film: bool
    stopped: bool
    why: str = "none"
    edge_mm: float | None = None


class Advancer(Protocol):
    """A motor that moves the film. Every verb may raise a BoardError; MotionStopped while a stop is latched."""

    async def ready(self) -> Drive:
        """Open and greet the board, also after a loss. Moves nothing."""
        ...

    async def advance(self, mm: float) -> Place:
        """Move by `mm` (backwards if negative) and return at rest: `done`, or `end` where the film ran out before."""
        ...

    async def seek(self, what: Literal["film", "clear"], mm: float) -> Place:
        """Creep at most `mm` until film comes under the sensor, or has left it; `seen`, or `done` where it did not."""
        ...

    async def place(self, declare_mm: float | None = None) -> Place:
        """Where the film is; with `declare_mm`, that is from now on what this place is called, and it is sure."""
        ...

    async def stop(self) -> None:
        """Emergency: motor and lamp off at once, latched. Acts beside whatever else is being waited for."""
        ...

    async def clear(self) -> Place:
        """Clear a latched stop, on purpose. Raises MotionStopped while the stop input is still pressed."""
        ...


class Shine(Struct, frozen=True):
    """The lamp: colour and level (0 = off, 1 = full), and seconds until it has warmed up (0 = now)."""

    colour: str
    level: float
    warm_in_s: float


class Lamp(Protocol):
    """The light table, where the board drives it. Every verb may raise a BoardError."""

    async def shine(self, level: float, colour: str = "white") -> Shine:
        """Set level (0 to 1) and colour; off at 0."""
        ...

    async def shining(self) -> Shine:
        """What it shows now."""
        ...

    async def warmed(self) -> Shine:
        """Return when it has been on for its warm-up time. Raises NotReady where it is off."""
        ...


class Press(Struct, frozen=True):
    """The operator pressed something. `at` is the clock's monotonic time of the first edge, as well as it is known."""

    source: str
    gesture: Literal["short", "long", "double"]
    at: float


class Change(Struct, frozen=True):
    """Something else that a trigger's device tells unasked: it went or came back, restarted, its stop was pressed,
    film came to its sensor or left it."""

    source: str
    what: Literal["gone", "back", "restarted", "stop", "film in", "film out"]
    detail: str = ""


class Trigger(Protocol):
    """A pedal, on the host or on the board. It goes on listening while it is unplugged, and says so."""

    async def open(self) -> str:
        """Begin to listen; the name of what is listened to. Raises PedalError or BoardError."""
        ...

    async def next(self) -> Press | Change:
        """The next thing that happened, in order; for one caller at a time."""
        ...

    async def close(self) -> None: ...


class Clock(Protocol):
    """Time, so that tests can move it."""

    def now(self) -> datetime:
        """The time of day, UTC."""
        ...

    def monotonic(self) -> float:
        """Seconds that never run backwards."""
        ...

    async def sleep(self, seconds: float) -> None: ...
