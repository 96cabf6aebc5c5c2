"""The state that the ledger's events fold into. Frozen; its dicts are never changed in place."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct

from rigd.model.events import LampMeasured, Troubled, Unclaimed
from rigd.model.events_later import SetupChecked
from rigd.model.values import About, Frame, Held, Job, Roll, Setup, Strip, Take
from rigd.model.words import Film

REDUCER_VERSION = 4


class FrameState(Struct, frozen=True):
    """A frame with its takes (ids in order), the keeper set, the film state, and whether it was passed over.

    `film` is the last word on it: the newest of `marks`, which are the operator's since the keeper was chosen, or what
    rigd `judged`. `again`: why it is to be taken again, "" if it is not; `doubt`: what was found out later against its
    keeper; `accepted`: somebody looked, and it will do."""

    frame: Frame
    takes: tuple[str, ...] = ()
    keeper: tuple[str, ...] = ()
    film: Film | None = None
    by: str = ""
    skipped: bool = False
    judged: Film | None = None
    marks: tuple[Film, ...] = ()
    again: str = ""
    doubt: str = ""
    accepted: bool = False
    about: About = About()

    @property
    def done(self) -> bool:
        """True if the frame is accounted for: a keeper, or a film state that needs none."""
        return bool(self.keeper) or self.film in (Film.UNEXPOSED, Film.FOGGED)


class RollState(Struct, frozen=True):
    """A roll with all that belongs to it. `worked_s`: seconds from one stored take to the next, breaks left out, and
    `paced` the frames that were taken in them; `heeded`: the operator's word that its film may run by itself; `place`:
    its number in the order in which rolls were planned; `held`: the shutter that is held for it."""

    roll: Roll
    strips: dict[str, Strip] = {}
    frames: dict[str, FrameState] = {}
    takes: dict[str, Take] = {}
    closed: bool = False
    first_at: datetime | None = None
    last_at: datetime | None = None
    worked_s: float = 0.0
    paced: int = 0
    heeded: str = ""
    place: int = 0
    held: Held | None = None


class Back(Struct, frozen=True):
    """Where the film goes on when the frame `of` that was recalled is done with."""

    of: str
    roll_id: str | None
    strip_id: str | None
    frame_id: str | None
    next_place: int | None


class State(Struct, frozen=True):
    """Everything that is true after event `seq`.

    `rolls` are the rolls in hand: in a fold all of them, in a ledger those that were touched lately (the current one
    always), the others being loaded when they are needed. `loose` holds takes that belong to no frame and no roll (open
    gate, base, dark); `roll_id`, `strip_id`, `frame_id` are the current ones (`frame_id` only from trigger to advance,
    or while a frame is recalled); `next_place` the place on the strip that comes after it; `working` the take that has
    not reached its end; `next_shutter_s` the first shutter of the next frame, None where nothing is known yet; `moving`
    the frame (or, drawn in, the strip) whose film movement was begun and not finished; `back` where it goes on after a
    recalled frame; `marked` the frame that was marked last. `strays` are the files that belong to no take yet, by path,
    `dismissed` those of no use, with why. `checked`: takes made before the set-up was last found good, `check` the last
    look at it. `armed`: frames are taken without a press; `disarmed` why that ceased, where rigd itself ended it.
    `gear`: mm of film in the live picture for each mm of the board (negative: forwards is leftwards), None where it has
    not been learned for this set-up; `stopped`: who stopped the film, until that is cleared."""

    seq: int = 0
    job: Job | None = None
    setup: Setup | None = None
    lamp: LampMeasured | None = None
    rolls: dict[str, RollState] = {}
    loose: dict[str, Take] = {}
    roll_id: str | None = None
    strip_id: str | None = None
    frame_id: str | None = None
    next_place: int | None = None
    working: str | None = None
    next_shutter_s: float | None = None
    moving: str | None = None
    unclaimed: int = 0
    trouble: Troubled | None = None
    paused: bool = False
    camera: str = ""
    serial: str = ""
    frame_count: int = 0
    take_count: int = 0
    strip_count: int = 0
    roll_count: int = 0
    back: Back | None = None
    marked: str | None = None
    strays: dict[str, Unclaimed] = {}
    dismissed: dict[str, str] = {}
    checked: int = 0
    check: SetupChecked | None = None
    armed: bool = False
    disarmed: str = ""
    gear: float | None = None
    stopped: str = ""

    @property
    def roll(self) -> RollState | None:
        """The current roll."""
        return self.rolls.get(self.roll_id) if self.roll_id else None

    @property
    def strip(self) -> Strip | None:
        """The strip in the gate."""
        return self.roll.strips.get(self.strip_id) if self.roll and self.strip_id else None

    @property
    def frame(self) -> FrameState | None:
        """The frame that a trigger would take."""
        return self.roll.frames.get(self.frame_id) if self.roll and self.frame_id else None

    @property
    def target(self) -> str | None:
        """The one thing that a trigger would take now, as `strip#place` (`new#1`: the first frame of a strip that
        nobody has announced). None where no roll is open. A command carries it; a stale one is refused."""
        if self.frame is not None:
            return f"{self.frame.frame.strip_id}#{self.frame.frame.place}"
        if self.roll is None or self.roll.closed:
            return None
        return f"{self.strip_id}#{self.next_place}" if self.strip_id and self.next_place else "new#1"

    def roll_of(self, frame_id: str) -> RollState | None:
        """The roll that a frame belongs to, wherever the job stands now; None if nobody knows the frame."""
        if self.roll and frame_id in self.roll.frames:  # nearly always, and then the number of rolls does not matter
            return self.roll
        return next((r for r in self.rolls.values() if frame_id in r.frames), None)

    def take(self, take_id: str) -> Take | None:
        """A take by its id, current roll first."""
        if take_id in self.loose:
            return self.loose[take_id]
        if self.roll and take_id in self.roll.takes:
            return self.roll.takes[take_id]
        return next((r.takes[take_id] for r in self.rolls.values() if take_id in r.takes), None)
