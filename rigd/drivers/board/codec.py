"""Bytes to lines and back, without I/O (hardware/PROTOCOL.md, "Lines")."""

from __future__ import annotations

import re

from msgspec import Struct

ESCAPE = b"\x1b"
"""Stops the board in its receive interrupt, between lines or in the middle of one."""

LONGEST = 96  # bytes of a line with its newline, by the protocol
_KINDS = b"<!#"
_WHOLE = re.compile(rb"([<!#])([0-9A-F]{2}) ([ -}]*)~([0-9A-F]{2})")


class Line(Struct, frozen=True):
    """A line that came whole. `kind`: "<" an answer, "!" a refusal, "#" an event; `number` 0 to 255."""

    kind: str
    number: int
    words: str


class Noise(Struct, frozen=True):
    """Bytes that belong to no whole line."""

    data: bytes


def crc8(data: bytes) -> int:
    """CRC-8 with polynomial 0x07, start 0, not reflected (CRC-8/SMBUS in the catalogue of parametrised CRCs)."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1 ^ 0x07) & 0xFF if crc & 0x80 else crc << 1
    return crc


def encode(number: int, words: str, kind: str = ">") -> bytes:
    """One line as it goes over the wire. Raises ValueError for what the protocol cannot carry."""
    body = f"{kind}{number:02X} {words}".encode("ascii")
    if not 0 <= number <= 255 or len(body) + 4 > LONGEST or re.search(r"[^ -}]|[<>!#]", words):
        raise ValueError(f"no line of the protocol: {number} {words!r}")
    return body + b"~%02X\n" % crc8(body)


class Decoder:
    """Takes bytes in any pieces. A kind sign inside a line begins a new one, so that a lost newline costs nothing."""

    def __init__(self) -> None:
        self._held = bytearray()

    def feed(self, data: bytes) -> list[Line | Noise]:
        """The lines that these bytes complete, and what was between them, in order."""
        found: list[Line | Noise] = []
        for byte in data.replace(b"\r", b""):
            if byte in _KINDS or byte == 0x0A:
                found += self._close()
            if byte != 0x0A:
                self._held.append(byte)
            if len(self._held) >= LONGEST:
                found += self._close()
        return found

    def _close(self) -> list[Line | Noise]:
        held = bytes(self._held)
        self._held.clear()
        if not held:
            return []
        match = _WHOLE.fullmatch(held)
        if match and crc8(held[:-3]) == int(match[4], 16):
            return [Line(match[1].decode(), int(match[2], 16), match[3].decode())]
        return [Noise(held)]
