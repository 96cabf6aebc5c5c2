"""The event union: everything that can be written into the ledger, one frozen struct each.

An intent (`ExposureIntended`, `MoveIntended`) is committed before its effect. Events are only ever added to this
file; a field that is added gets a default, so that every old ledger still reads.
"""

from __future__ import annotations

from datetime import datetime

import msgspec
from msgspec import Struct

from rigd.model.event_base import Event
from rigd.model.events_exposing import ShutterHeld, ShutterReleased
from rigd.model.events_feed import FilmEnded, FilmStopped, GearLearned, Moved, MoveIntended, StopCleared
from rigd.model.events_later import (
    BaseHeeded,
    CardCleared,
    Copied,
    EdgesRead,
    FramesAccepted,
    FramesDescribed,
    FramesDoubted,
    FramesMarked,
    FramesMoved,
    FramesWanted,
    MarkUndone,
    Rebuilt,
    RollDropped,
    SetupChecked,
    StrayAssigned,
    StrayDismissed,
    StripsChanged,
)
from rigd.model.events_watch import Armed, Disarmed
from rigd.model.values import CardFile, Exposure, Frame, Job, Roll, Setup, Strip, Verdict
from rigd.model.words import Decision, Film, Purpose


class JobOpened(Event, frozen=True, tag=True):
    job: Job


class SetupDescribed(Event, frozen=True, tag=True):
    setup: Setup


class LampMeasured(Event, frozen=True, tag=True):
    """The bare lamp through the open gate: signal of R, G, B in stops under saturation, for 1 s at `f_number`, `iso`.
    Positive numbers mean that 1 s would be over saturation."""

    setup_id: str
    level_1s: tuple[float, float, float]
    f_number: float
    iso: int


class RollPlanned(Event, frozen=True, tag=True):
    roll: Roll


class RollChanged(Event, frozen=True, tag=True):
    roll: Roll


class RollOpened(Event, frozen=True, tag=True):
    roll_id: str


class RollClosed(Event, frozen=True, tag=True):
    roll_id: str


class StripLoaded(Event, frozen=True, tag=True):
    strip: Strip


class FramePlaced(Event, frozen=True, tag=True):
    """A frame came under the lens for the first time and got its permanent id; it is the current one now."""

    frame: Frame


class FrameRecalled(Event, frozen=True, tag=True):
    """A frame that is known already is the current one again."""

    frame_id: str


class Triggered(Event, frozen=True, tag=True):
    """`ago_s`: how long before it was committed the press was made, by the time of whatever was pressed."""

    frame_id: str | None
    source: str
    purpose: Purpose = Purpose.WHOLE
    nonce: str = ""
    ago_s: float = 0.0


class Settled(Event, frozen=True, tag=True):
    """The wait for stillness is over. `waited_s` counts from the trigger. `how`: "fixed" or "measured"; where it was
    measured, `moved_um` is what was left of the movement, and `rest_s` how long the film had lain still by then."""

    frame_id: str | None
    waited_s: float
    how: str = "fixed"
    moved_um: float | None = None
    rest_s: float | None = None


class ExposureIntended(Event, frozen=True, tag=True):
    """`roll_id` and `strip_id` where the take is of no frame, but of their label."""

    take_id: str
    frame_id: str | None
    purpose: Purpose
    number: int
    want: Exposure
    roll_id: str | None = None
    strip_id: str | None = None


class Exposed(Event, frozen=True, tag=True):
    take_id: str
    seconds: float
    files: tuple[CardFile, ...]


class Fetched(Event, frozen=True, tag=True):
    take_id: str
    part: str
    bytes: int


class Stored(Event, frozen=True, tag=True):
    take_id: str
    path: str
    sha256: str
    bytes: int


class Judged(Event, frozen=True, tag=True):
    """`decision` is what follows; `next_shutter_s` the corrected time, carried into the next first shutter too."""

    take_id: str
    verdict: Verdict
    decision: Decision
    why: str = ""
    next_shutter_s: float | None = None


class TakeLost(Event, frozen=True, tag=True):
    """An intended exposure that left no file: it never happened, or its file is gone. The frame is still to take."""

    take_id: str
    why: str


class KeeperChosen(Event, frozen=True, tag=True):
    frame_id: str
    takes: tuple[str, ...]
    film: Film
    by: str = "rigd"


class FrameMarked(Event, frozen=True, tag=True):
    """The operator's word on the film; `film` None takes every mark back, and what rigd found counts again."""

    frame_id: str
    film: Film | None
    by: str


class FrameSkipped(Event, frozen=True, tag=True):
    frame_id: str
    why: str = ""


class Advanced(Event, frozen=True, tag=True):
    """The frame is done with and the film may move; `next_place` None: the strip is through."""

    frame_id: str
    next_place: int | None


class Verified(Event, frozen=True, tag=True):
    take_id: str


class Damaged(Event, frozen=True, tag=True):
    take_id: str
    why: str


class Unclaimed(Event, frozen=True, tag=True):
    """A file nobody asked for: kept apart under its own name, never numbered."""

    path: str
    name: str
    bytes: int
    why: str


class CameraJoined(Event, frozen=True, tag=True):
    model: str
    serial: str
    clock_offset_s: float | None = None


class Troubled(Event, frozen=True, tag=True):
    code: str
    what: str
    why: str
    remedy: str
    frame_id: str | None = None


class TroubleOver(Event, frozen=True, tag=True):
    pass


class Paused(Event, frozen=True, tag=True):
    by: str


class Resumed(Event, frozen=True, tag=True):
    by: str


AnyEvent = (
    JobOpened | SetupDescribed | LampMeasured | RollPlanned | RollChanged | RollOpened | RollClosed | StripLoaded
    | FramePlaced | FrameRecalled | Triggered | Settled | ExposureIntended | Exposed | Fetched | Stored | Judged
    | TakeLost | KeeperChosen | FrameMarked | FrameSkipped | MoveIntended | Advanced | Verified | Damaged | Unclaimed
    | CameraJoined | Troubled | TroubleOver | Paused | Resumed | RollDropped | BaseHeeded | StripsChanged | FramesMoved
    | EdgesRead | FramesMarked | MarkUndone | FramesDoubted | FramesAccepted | FramesWanted | FramesDescribed
    | SetupChecked | StrayAssigned | StrayDismissed | Copied | CardCleared | Rebuilt | Armed | Disarmed
    | Moved | GearLearned | FilmEnded | FilmStopped | StopCleared | ShutterHeld | ShutterReleased
)  # fmt: skip


class Committed(Struct, frozen=True):
    """An event with its place in the ledger: `seq` from 1 without gaps, `at` in UTC."""

    seq: int
    at: datetime
    event: AnyEvent


encode_event = msgspec.json.Encoder().encode
decode_event = msgspec.json.Decoder(AnyEvent).decode
