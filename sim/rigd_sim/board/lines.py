"""Lines as the board reads and writes them: kind, number, words, check (hardware/PROTOCOL.md, "Lines")."""

from __future__ import annotations

import re
from dataclasses import dataclass

LONGEST = 96  # bytes of a line with its newline
_WHOLE = re.compile(rb">([0-9A-F]{2}) (.*)~([0-9A-F]{2})", re.DOTALL)


def crc8(data: bytes | bytearray) -> int:
    """CRC-8 with polynomial 0x07, start 0, not reflected (CRC-8/SMBUS)."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1 ^ 0x07) & 0xFF if crc & 0x80 else crc << 1
    return crc


def line(kind: str, number: int, words: str) -> bytes:
    """One line, ready to be sent."""
    body = f"{kind}{number:02X} {words}".encode("ascii")
    return body + b"~%02X\n" % crc8(body)


@dataclass(frozen=True)
class Command:
    """A line that came whole: `number` 1 to 255; `check` tells a repeated line from a new one."""

    number: int
    words: str
    check: int


class Receiver:
    """Bytes in, commands out; None stands for something that was not a whole line."""

    def __init__(self) -> None:
        self._held = bytearray()
        self._astray = False

    def take(self, byte: int) -> list[Command | None]:
        """What that byte completes: nothing, or one thing."""
        if byte == 0x0D:
            return []
        return self._inside(byte) if self._held else self._outside(byte)

    def _inside(self, byte: int) -> list[Command | None]:
        if byte in b">\n":
            found = _evaluated(bytes(self._held))
            self._held[:] = b">" if byte == 0x3E else b""
            return [found]
        if len(self._held) < LONGEST - 1:
            self._held.append(byte)
        else:
            self._held.clear()
            self._astray = True
        return []

    def _outside(self, byte: int) -> list[Command | None]:
        if byte == 0x3E:
            self._held.append(byte)
            self._astray = False
        elif byte != 0x0A:
            self._astray = True
        elif self._astray:
            self._astray = False
            return [None]
        return []


def _evaluated(held: bytes) -> Command | None:
    match = _WHOLE.fullmatch(held)
    if not match or len(held) < 8:
        return None
    number, check = int(match[1], 16), int(match[3], 16)
    if not number or crc8(held[:-3]) != check:
        return None
    return Command(number, match[2].decode("latin-1"), check)
