"""The values that the steps of a cycle hand on: each is frozen, and each step takes the one before it."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from rigd.engine.watch_sight import Seen
from rigd.model.values import CardFile, Exposure, Frame, Roll, Strip
from rigd.model.words import Purpose


class Order(Struct, frozen=True):
    """What somebody asked for: a trigger with its source, its nonce and the target it meant. `rested`: the last look
    at the film, where whoever triggers has measured that it lies still. `pressed`: when it was asked for, the
    clock's monotonic time, where that is known."""

    source: str
    nonce: str = ""
    target: str | None = None
    frame_id: str | None = None
    purpose: Purpose = Purpose.WHOLE
    rested: Seen | None = None
    pressed: float | None = None


class Placed(Struct, frozen=True):
    """What lies in the gate: a frame of a roll's strip."""

    roll: Roll
    strip: Strip
    frame: Frame


class Still(Struct, frozen=True):
    """The film lies still; `seen` is the last look at it, None where nobody could look."""

    placed: Placed | None
    waited_s: float
    seen: Seen | None = None


class Closed(Struct, frozen=True):
    """The shutter has closed; these files belong to the take."""

    take_id: str
    files: tuple[CardFile, ...]


class InSpool(Struct, frozen=True):
    """The file lies in the destination folder under its temporary name."""

    take_id: str
    part: Path
    bytes: int


class Safe(Struct, frozen=True):
    """The file is durable under its own name and the ledger says so."""

    take_id: str
    path: Path
    want: Exposure
