"""A host without the driver: raw bytes through pyserial, lines made and read here from the specification alone."""

from __future__ import annotations

import time
from types import TracebackType

import serial
from tests.contract.board.bed import PATIENCE_S, Bed

KEEPING_S = 0.25  # 55 bytes of EEPROM at 3.4 ms (ATmega328P data sheet, table of EEPROM programming times)


def crc8(data: bytes) -> int:
    """CRC-8/SMBUS, by the table-free definition: polynomial x^8 + x^2 + x + 1."""
    remainder = int.from_bytes(data, "big") << 8
    for bit in range(remainder.bit_length() - 1, 7, -1):
        if remainder >> bit & 1:
            remainder ^= 0x107 << (bit - 8)
    return remainder


def line(number: int, words: str, kind: str = ">") -> bytes:
    body = f"{kind}{number:02X} {words}".encode()
    return body + f"~{crc8(body):02X}\n".encode()


def plain(data: bytes) -> list[str]:
    """Lines without their checks, which must be right."""
    found = []
    for one in data.decode("ascii").splitlines():
        body, _, check = one.rpartition("~")
        assert int(check, 16) == crc8(body.encode()), one
        found.append(body)
    return found


class RawHost:
    def __init__(self, bed: Bed) -> None:
        self._bed = bed
        self._number = 0
        self._had = int(str(bed.look()["sent"]))
        self._cut = b""
        self.port = serial.serial_for_url(bed.url, 57600, timeout=PATIENCE_S, exclusive=True)

    def write(self, data: bytes) -> None:
        """Hand the bytes over; a terminal carries them when it likes, so wait until they are across."""
        got = int(str(self._bed.look()["got"])) + len(data)
        self.port.write(data)
        give_up = time.monotonic() + PATIENCE_S
        while self._bed.look()["got"] != got:
            assert time.monotonic() < give_up, "the bytes do not arrive"

    def read(self, seconds: float = 0.04) -> list[str]:
        """Whole lines that have come by the time so much of the board's time has passed."""
        self._bed.advance(int(seconds * 1e6))
        coming = int(str(self._bed.look()["sent"])) - self._had
        data = self.port.read(coming)
        assert len(data) == coming, "what the board sent does not arrive"
        self._had += coming
        whole, end, self._cut = (self._cut + data).rpartition(b"\n")
        return plain(whole + end)

    def say(self, words: str, seconds: float = 0.04) -> list[str]:
        """Send a command with the next number; all that comes, with that number left out of the answer."""
        seconds += KEEPING_S * words.startswith("KEEP")
        self._number = self._number % 255 + 1
        self.write(line(self._number, words))
        mark = f"{self._number:02X} "
        return [one[0] + one[4:] if one[1:4] == mark and one[0] in "<!" else one for one in self.read(seconds)]

    def __enter__(self) -> RawHost:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.port.close()
