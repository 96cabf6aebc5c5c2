"""The kernel's input records (struct input_event of linux/input.h), from bytes in any pieces."""

from __future__ import annotations

import struct

from msgspec import Struct

EV_SYN, EV_KEY = 0, 1  # linux/input-event-codes.h
SYN_DROPPED = 3

RECORD = struct.Struct("llHHi")
"""Native sizes: struct timeval (two longs), type, code, value; 24 bytes on 64-bit Linux."""

UP, DOWN = 0, 1  # value 2 is auto-repeat, and no edge


class Key(Struct, frozen=True):
    """A key went down or up, at that many seconds of the device's clock."""

    at: float
    code: int
    down: bool


class Dropped(Struct, frozen=True):
    """The kernel's queue ran over: what happened in between is not known."""


class Records:
    """Cuts a stream into records and keeps those that matter here."""

    def __init__(self) -> None:
        self._held = b""

    def feed(self, data: bytes) -> list[Key | Dropped]:
        """Key edges and losses among these bytes, in order."""
        data = self._held + data
        whole = len(data) - len(data) % RECORD.size
        self._held = data[whole:]
        found = [_meaning(*record) for record in RECORD.iter_unpack(data[:whole])]
        return [one for one in found if one is not None]


def _meaning(seconds: int, micros: int, kind: int, code: int, value: int) -> Key | Dropped | None:
    if kind == EV_SYN and code == SYN_DROPPED:
        return Dropped()
    if kind == EV_KEY and value in (UP, DOWN):
        return Key(seconds + micros / 1e6, code, value == DOWN)
    return None
