"""What can be made to go wrong, where, and how often."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import Literal, get_args

from rigd_sim.camera.codes import Op, Response

Point = Literal[
    "now", "connect", "init", "storage", "get_config", "set_config", "capture", "picture", "event",
    "info", "download", "delete", "liveview",
]  # fmt: skip
Kind = Literal[
    "drop", "stall", "busy", "answer", "garble", "freeze",
    "card_full", "stale_picture", "short_file", "wrong_time", "other_shutter",
    "lost_event", "late_event", "duplicate_event", "short_transfer", "corrupt_byte",
]  # fmt: skip

OPERATIONS: dict[Point, frozenset[int]] = {
    "init": frozenset({Op.GET_DEVICE_INFO, Op.OPEN_SESSION}),
    "storage": frozenset({Op.GET_STORAGE_IDS, Op.GET_STORAGE_INFO, Op.GET_NUM_OBJECTS, Op.GET_OBJECT_HANDLES}),
    "get_config": frozenset({Op.GET_DEVICE_PROP_DESC, Op.GET_DEVICE_PROP_VALUE}),
    "set_config": frozenset({Op.SET_DEVICE_PROP_VALUE}),
    "capture": frozenset({Op.INITIATE_CAPTURE}),
    "info": frozenset({Op.GET_OBJECT_INFO}),
    "download": frozenset({Op.GET_OBJECT, Op.GET_PARTIAL_OBJECT}),
    "delete": frozenset({Op.DELETE_OBJECT}),
    "liveview": frozenset({Op.GET_STREAM_INFO, Op.GET_STREAM}),
}
"""Which operations a point stands for; the other points are places in the camera, not operations."""

_ANY_OPERATION: frozenset[Kind] = frozenset({"drop", "stall", "busy", "answer", "garble", "freeze"})
_SPOILING: frozenset[Kind] = frozenset({"short_transfer", "corrupt_byte"})
_ANSWERS = _ANY_OPERATION | _SPOILING
_ALLOWED: dict[Point, frozenset[Kind]] = {
    "now": frozenset({"drop", "freeze"}),
    "connect": frozenset({"drop", "stall", "busy", "garble", "freeze"}),
    "picture": frozenset({"card_full", "stale_picture", "short_file", "wrong_time", "other_shutter"}),
    "event": frozenset({"drop", "stall", "garble", "freeze", "lost_event", "late_event", "duplicate_event"}),
    "download": _ANSWERS,
    "capture": _ANY_OPERATION | {"card_full"},
}


@dataclass(frozen=True)
class Part:
    """The bytes [start, stop) of an object of `size` bytes that one operation carries."""

    start: int = 0
    stop: int = 0
    size: int = 0


class BadFault(ValueError):
    """The fault asked for makes no sense; the text says why."""


@dataclass(frozen=True)
class Fault:
    """One fault waiting for its point.

    kind, at     see the literals.
    count        how often it strikes; None: until cleared.
    after_bytes  payload bytes sent before it strikes (download, liveview; of the file, for short_file), counted
                 from the object's first byte even where it is fetched in blocks. None: 0, or half the object where
                 a file or transfer is cut short or spoiled.
    seconds      how long a stall or a freeze lasts (None: until cleared), how late an event comes, by how much a
                 file's time is wrong, or the shutter time that is used instead of the one asked for.
    code         the response of `answer`.
    op           strike at this one operation code instead of all of the point's.
    skip         let so many pass first.
    performed    whether the operation takes effect before a `drop`. Before stall, garble and freeze it does;
                 in place of busy and answer it does not.
    """

    kind: Kind
    at: Point
    count: int | None = 1
    after_bytes: int | None = None
    seconds: float | None = None
    code: int = Response.GENERAL_ERROR
    op: int | None = None
    skip: int = 0
    performed: bool = True
    number: int = 0

    def check(self) -> None:
        """Raise BadFault unless kind and point go together and the numbers are possible."""
        if self.at not in get_args(Point):
            raise BadFault(f"no point named {self.at!r}; there are {', '.join(get_args(Point))}")
        allowed = _ALLOWED.get(self.at, _ANY_OPERATION)
        if self.kind not in allowed:
            raise BadFault(f"{self.kind!r} cannot happen at {self.at!r}; {', '.join(sorted(allowed))} can")
        if (self.count is not None and self.count < 1) or (self.after_bytes or 0) < 0 or self.skip < 0:
            raise BadFault("counts and bytes are not negative")


class Faults:
    """The faults that wait. `take` is asked at each point, and gives the one that strikes."""

    def __init__(self) -> None:
        self._waiting: dict[int, Fault] = {}
        self._numbers = itertools.count(1)

    def add(self, fault: Fault) -> int:
        """Arm a fault; its number clears it. Raises BadFault."""
        fault.check()
        number = next(self._numbers)
        self._waiting[number] = replace(fault, number=number)
        return number

    def clear(self, number: int | None = None) -> None:
        """Disarm one fault, or all."""
        if number is None:
            self._waiting.clear()
        else:
            self._waiting.pop(number, None)

    def waiting(self) -> list[Fault]:
        return list(self._waiting.values())

    def take(self, at: Point, *kinds: Kind) -> Fault | None:
        """The first armed fault of this point (and one of these kinds, if any are given); counts it."""
        for fault in self.waiting():
            if fault.at == at and (not kinds or fault.kind in kinds) and self._struck(fault):
                return fault
        return None

    def take_operation(self, op: int, part: Part | None = None) -> Fault | None:
        """The first armed fault that concerns this operation and its answer; counts it.

        part: what the operation carries of an object; after_bytes then counts from the part's start.
        """
        for fault in self.waiting():
            if fault.kind not in _ANSWERS:
                continue
            concerned = fault.op == op if fault.op is not None else op in OPERATIONS.get(fault.at, ())
            placed = _placed(fault, part) if concerned else None
            if placed is not None and (_goes_on(placed, op) or self._struck(fault)):
                return placed
        return None

    def _struck(self, fault: Fault) -> bool:
        if fault.skip:
            self._waiting[fault.number] = replace(fault, skip=fault.skip - 1)
            return False
        if fault.count is not None:
            self._use_up(fault, fault.count)
        return True

    def _use_up(self, fault: Fault, count: int) -> None:
        if count == 1:
            del self._waiting[fault.number]
        else:
            self._waiting[fault.number] = replace(fault, count=count - 1)


def _placed(fault: Fault, part: Part | None) -> Fault | None:
    """The fault with after_bytes counted within the part; None if it strikes in another part."""
    if part is None or fault.kind in ("busy", "answer", "freeze"):
        return fault
    place = fault.after_bytes
    if place is None:
        place = part.size // 2 if fault.kind in _SPOILING else part.start
    if place >= max(part.stop, 1) or (place < part.start and fault.kind != "short_transfer"):
        return None
    return replace(fault, after_bytes=max(0, place - part.start))


def _goes_on(placed: Fault, op: int) -> bool:
    """An initiator that gets half a block asks for the rest; the file is short only if it then gets nothing."""
    return placed.kind == "short_transfer" and op == Op.GET_PARTIAL_OBJECT and placed.after_bytes != 0
