"""The simple types of PTP datasets as bytes: numbers, strings, arrays and times (ISO 15740)."""

from __future__ import annotations

import struct
from collections.abc import Iterable
from datetime import datetime

from rigd_sim.camera.codes import DataType

Value = int | str

_FORMS = {
    DataType.INT8: "<b",
    DataType.UINT8: "<B",
    DataType.INT16: "<h",
    DataType.UINT16: "<H",
    DataType.INT32: "<i",
    DataType.UINT32: "<I",
}

MAX_STRING = 254  # characters: one byte counts them together with the closing zero


class PackError(ValueError):
    """A value does not fit its type, or bytes are not a value of the type."""


def u16(value: int) -> bytes:
    return struct.pack("<H", value)


def u32(value: int) -> bytes:
    return struct.pack("<I", value)


def u64(value: int) -> bytes:
    return struct.pack("<Q", value)


def string(text: str) -> bytes:
    """A count of UTF-16 units (with the closing zero), then the units; an empty string is one zero byte."""
    if not text:
        return b"\0"
    units = text.encode("utf-16-le") + b"\0\0"
    if len(units) // 2 > MAX_STRING + 1:
        raise PackError(f"a string of {len(text)} characters")
    return bytes([len(units) // 2]) + units


def array16(values: Iterable[int]) -> bytes:
    items = tuple(values)
    return struct.pack(f"<I{len(items)}H", len(items), *items)


def array32(values: Iterable[int]) -> bytes:
    items = tuple(values)
    return struct.pack(f"<I{len(items)}I", len(items), *items)


def timestamp(moment: datetime) -> str:
    """A PTP DateTime string without a zone: YYYYMMDDThhmmss.s."""
    return f"{moment:%Y%m%dT%H%M%S}.{moment.microsecond // 100_000}"


def parse_timestamp(text: str) -> datetime:
    """The inverse of `timestamp`; tenths may be missing, a zone is ignored. Raises PackError."""
    digits, _, rest = text.partition(".")
    try:
        moment = datetime.strptime(digits[:15], "%Y%m%dT%H%M%S")
    except ValueError:
        raise PackError(f"not a PTP date: {text!r}") from None
    tenths = int(rest[0]) if rest[:1].isdigit() else 0
    return moment.replace(microsecond=tenths * 100_000)


def value(kind: DataType, content: Value) -> bytes:
    """One property value. Raises PackError."""
    if kind is DataType.STRING:
        return string(str(content))
    try:
        return struct.pack(_FORMS[kind], content)
    except struct.error:
        raise PackError(f"{content!r} is no {kind.name}") from None


def parse_value(kind: DataType, data: bytes) -> Value:
    """One property value that fills `data` exactly. Raises PackError."""
    if kind is DataType.STRING:
        return _parse_string(data)
    try:
        (number,) = struct.unpack(_FORMS[kind], data)
    except struct.error:
        raise PackError(f"{len(data)} bytes are no {kind.name}") from None
    return int(number)


def _parse_string(data: bytes) -> str:
    if not data or len(data) != 1 + 2 * data[0]:
        raise PackError(f"{len(data)} bytes are no string")
    try:
        return data[1:].decode("utf-16-le").rstrip("\0")
    except UnicodeDecodeError as error:
        raise PackError(str(error)) from None
