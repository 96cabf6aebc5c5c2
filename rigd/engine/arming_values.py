"""What arming speaks of: the frame that is wanted, what was found in the gate, and what is asked of a look."""

from __future__ import annotations

from enum import StrEnum
from typing import Protocol

from msgspec import Struct

from rigd.engine.watch_sight import Seen
from rigd.imaging.live import Likeness


class What(StrEnum):
    """What lies in the gate, as far as it concerns the frame that is wanted."""

    WANTED = "wanted"
    TAKEN = "taken"
    BEYOND = "beyond"
    BEFORE = "before"
    PARTLY = "partly"
    UNSURE = "unsure"
    NOTHING = "nothing"


class Wanted(Struct, frozen=True):
    """The frame to take: its place on a strip (`strip_id` None: of a strip that nobody has announced). `first_strip`:
    it may have a leader. `forwards`: 1 where later places lie to the right in the picture, -1 to the left."""

    strip_id: str | None
    place: int
    first_strip: bool = False
    forwards: int = 1


class Found(Struct, frozen=True):
    """`left_mm`, `right_mm`: the frame in question, right of the gate's middle. `slide_mm`: how the film must move to
    bring the wanted frame to the middle, right positive; None where nobody knows. `place`: of what lies there.
    `edges`: it was told by its own edges, not by travel."""

    what: What
    place: int | None = None
    left_mm: float = 0.0
    right_mm: float = 0.0
    slide_mm: float | None = None
    edges: bool = False


class Known(Struct, frozen=True):
    """A frame that was taken or passed over: where its middle lies on the film."""

    place: int
    at_mm: float
    edges: bool


class Eye(Protocol):
    """What arming asks of a look."""

    def likeness(self, seen: Seen, left_mm: float, right_mm: float) -> Likeness: ...

    def rebate(self, seen: Seen, from_mm: float, to_mm: float) -> float: ...

    def lamp_beside(self, seen: Seen) -> bool: ...
