"""Events of second thoughts: corrections over a range, words of the operator, copies, files that found their frame.

None of them changes a file: what was stored keeps its name, and the ledger says what it is.
"""

from __future__ import annotations

from rigd.model.event_base import Event
from rigd.model.values import About, Frame, Strip, Take
from rigd.model.words import Film


class RollDropped(Event, frozen=True, tag=True):
    """A roll that was planned by mistake. One that has strips, frames or takes stays."""

    roll_id: str
    why: str = ""
    by: str = ""


class BaseHeeded(Event, frozen=True, tag=True):
    """The operator's word that the film of this roll may run by itself, and on what grounds."""

    roll_id: str
    word: str
    by: str


class StripsChanged(Event, frozen=True, tag=True):
    """Strips as they are now known to be: number, side, turn, kind, and the roll they belong to. Their frames and takes
    go with them. A strip that nobody knew is new. `was`: what was believed before, so that it can be taken back."""

    strips: tuple[Strip, ...]
    was: tuple[Strip, ...] = ()
    why: str = ""
    by: str = ""


class FramesMoved(Event, frozen=True, tag=True):
    """Frames belong to another place: roll, strip and place are those of the new values. Their takes go with them."""

    frames: tuple[Frame, ...]
    was: tuple[Frame, ...] = ()
    why: str = ""
    by: str = ""


class EdgesRead(Event, frozen=True, tag=True):
    """Edge marks as printed on the film, by frame id; "" takes one back."""

    marks: dict[str, str]
    by: str


class FramesMarked(Event, frozen=True, tag=True):
    """The operator's word on the film of several frames, as `FrameMarked`."""

    frame_ids: tuple[str, ...]
    film: Film | None
    by: str


class MarkUndone(Event, frozen=True, tag=True):
    """The last mark of a frame is taken back; the one before it counts, or what rigd found."""

    frame_id: str
    by: str


class FramesDoubted(Event, frozen=True, tag=True):
    """Something was found out later that puts the keepers of these frames in doubt."""

    frame_ids: tuple[str, ...]
    why: str
    by: str = "rigd"


class FramesAccepted(Event, frozen=True, tag=True):
    """Somebody looked at the keepers of these frames, and they will do."""

    frame_ids: tuple[str, ...]
    by: str


class FramesWanted(Event, frozen=True, tag=True):
    """These frames are to be taken again, and why; `why` "" takes them off that list."""

    frame_ids: tuple[str, ...]
    why: str
    by: str


class FramesDescribed(Event, frozen=True, tag=True):
    """What is told about single frames, by frame id, in place of what was told before."""

    about: dict[str, About]
    by: str


class SetupChecked(Event, frozen=True, tag=True):
    """A look at the set-up during the job: as good as before, or drifted (`ok` False)."""

    ok: bool
    what: str
    why: str = ""
    by: str = "rigd"


class StrayAssigned(Event, frozen=True, tag=True):
    """An unclaimed file turned out to be this take of a frame: it has its number, its path and its checksum now."""

    path: str
    take: Take
    by: str


class StrayDismissed(Event, frozen=True, tag=True):
    """An unclaimed file that is of no use. It stays where it lies."""

    path: str
    why: str
    by: str


class Copied(Event, frozen=True, tag=True):
    """A verified copy of a take's file lies in the folder `to`."""

    take_id: str
    to: str


class CardCleared(Event, frozen=True, tag=True):
    """The take's file was erased from the camera's card, on request, after a copy was verified."""

    take_id: str
    name: str
    by: str


class Rebuilt(Event, frozen=True, tag=True):
    """This ledger was built from the files of a job, because the one before was lost or damaged. `takes`, `frames`,
    `strips`, `rolls`: so many there had been, also where they are gone: no number is ever given twice."""

    files: int
    why: str = ""
    takes: int = 0
    frames: int = 0
    strips: int = 0
    rolls: int = 0
