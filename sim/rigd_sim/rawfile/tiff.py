"""TIFF structure (TIFF 6.0): directories of tagged values, little-endian, offsets known before anything is written."""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from fractions import Fraction

BYTE, ASCII, SHORT, LONG, RATIONAL, UNDEFINED, SRATIONAL = 1, 2, 3, 4, 5, 7, 10
_PACK = {SHORT: "H", LONG: "I"}

Value = bytes | str | Sequence[int] | Sequence[Fraction]
Entry = tuple[int, Value]
"""(TIFF type, value): bytes for BYTE and UNDEFINED, text for ASCII, integers or fractions for the rest."""


def payload(kind: int, value: Value) -> tuple[int, bytes]:
    """Count and little-endian bytes of a value. Text gets its closing NUL."""
    if isinstance(value, str):
        data = value.encode("ascii", "replace") + b"\0"
        return len(data), data
    if isinstance(value, bytes):
        return len(value), value
    if kind in _PACK:
        return len(value), struct.pack(f"<{len(value)}{_PACK[kind]}", *value)
    letter = "I" if kind == RATIONAL else "i"
    pairs = [part for v in value for part in Fraction(v).limit_denominator(1_000_000).as_integer_ratio()]
    return len(value), struct.pack(f"<{len(pairs)}{letter}", *pairs)


def directory_size(entries: Mapping[int, Entry]) -> int:
    """Bytes that a directory and its out-of-line values take; always even."""
    size = 2 + 12 * len(entries) + 4
    for kind, value in entries.values():
        _, data = payload(kind, value)
        if len(data) > 4:
            size += len(data) + (len(data) & 1)
    return size


def directory(entries: Mapping[int, Entry], offset: int) -> bytes:
    """The bytes of a directory that lies at `offset`, tags in order, with no directory after it."""
    spare = offset + 2 + 12 * len(entries) + 4
    head, tail = [struct.pack("<H", len(entries))], []
    for tag in sorted(entries):
        kind, value = entries[tag]
        count, data = payload(kind, value)
        if len(data) <= 4:
            field = data.ljust(4, b"\0")
        else:
            field = struct.pack("<I", spare)
            data += b"\0" * (len(data) & 1)
            tail.append(data)
            spare += len(data)
        head.append(struct.pack("<HHI", tag, kind, count) + field)
    return b"".join([*head, struct.pack("<I", 0), *tail])
