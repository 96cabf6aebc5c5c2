"""Events of film that a motor moves. `MoveIntended` is committed before it moves, `Moved` when it rests again."""

from __future__ import annotations

from rigd.model.event_base import Event


class MoveIntended(Event, frozen=True, tag=True):
    """The motor is about to move the film by `mm`, so that place `to_place` of its strip comes into the gate; what is
    corrected there belongs to it. `frame_id`: the frame that lies in the gate now, None where the strip is drawn in.
    `from_mm`: where the board says the film is."""

    frame_id: str | None
    mm: float
    strip_id: str | None = None
    to_place: int | None = None
    from_mm: float | None = None


class Moved(Event, frozen=True, tag=True):
    """The film rests, after `mm` by the board's count. `place`: what lies in the gate now, None where that is not
    known. `off_mm`: how far its middle is from the gate's, None where it shows nothing to tell by and the count alone
    was trusted. `tries`: corrections that were made. `at_mm`: where the board says the film is. `why`: how the motion
    ended, in the board's words."""

    frame_id: str | None
    mm: float
    why: str = "done"
    place: int | None = None
    off_mm: float | None = None
    tries: int = 0
    at_mm: float | None = None


class GearLearned(Event, frozen=True, tag=True):
    """How far the film goes in the live picture for each mm of the board, learned over `over_mm` of its own movement.
    Negative: forwards is leftwards. It holds for this set-up."""

    setup_id: str
    gear: float
    over_mm: float


class FilmEnded(Event, frozen=True, tag=True):
    """The strip in the gate has no frame after place `places`: its end was seen."""

    strip_id: str
    places: int
    why: str = ""


class FilmStopped(Event, frozen=True, tag=True):
    """The emergency stop: nothing moves until it is cleared on purpose."""

    by: str


class StopCleared(Event, frozen=True, tag=True):
    by: str
