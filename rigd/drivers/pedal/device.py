"""One input device of the Linux kernel: what it is, what keys it has, and reading it alone (linux/input.h)."""

from __future__ import annotations

import errno
import os
import struct
import time
from contextlib import suppress
from pathlib import Path

from rigd.errors import PedalMissing

try:
    from fcntl import ioctl
except ImportError:  # no Linux; `Device.open` says so
    ioctl = None  # type: ignore[assignment]

_KEY_MAX = 0x2FF
_KEYS_BYTES = _KEY_MAX // 8 + 1
_NAME_BYTES = 256

# The letters lie in three rows: KEY_Q 16 to KEY_P 25, KEY_A 30 to KEY_L 38, KEY_Z 44 to KEY_M 50.
LETTERS = frozenset((*range(16, 26), *range(30, 39), *range(44, 51)))


def request(direction: int, number: int, size: int) -> int:
    """An ioctl request of group 'E', as _IOC of asm-generic/ioctl.h makes it. 1: we write, 2: we read."""
    return direction << 30 | size << 16 | ord("E") << 8 | number


EVIOCGNAME = request(2, 0x06, _NAME_BYTES)
EVIOCGKEYS = request(2, 0x20 + 1, _KEYS_BYTES)  # EVIOCGBIT(EV_KEY, size)
EVIOCGRAB = request(1, 0x90, 4)
EVIOCSCLOCKID = request(1, 0xA0, 4)


def keys_of(bits: bytes) -> frozenset[int]:
    """Key codes from the kernel's bit field, lowest bit first."""
    return frozenset(8 * n + bit for n, byte in enumerate(bits) for bit in range(8) if byte >> bit & 1)


def is_keyboard(keys: frozenset[int]) -> bool:
    """Whether it has a whole alphabet, and so may be somebody's only keyboard."""
    return keys >= LETTERS


class Device:
    """An opened device; reads do not block. Times of its records are made those of time.monotonic()."""

    def __init__(self, path: Path, descriptor: int) -> None:
        self.path, self.descriptor = path, descriptor

    @classmethod
    def open(cls, path: Path) -> Device:
        """Raises PedalMissing."""
        try:
            return cls(path, os.open(path, os.O_RDONLY | os.O_NONBLOCK))
        except OSError as error:
            raise _missing(path, error) from error

    def name(self) -> str:
        """What the device calls itself; empty where it is no input device."""
        return self._ask(EVIOCGNAME, _NAME_BYTES).split(b"\0")[0].decode("utf-8", "replace")

    def keys(self) -> frozenset[int]:
        """The codes of the keys it has; empty where it is no input device."""
        return keys_of(self._ask(EVIOCGKEYS, _KEYS_BYTES))

    def take(self) -> None:
        """Read it alone from now on (else it types into whatever window is open). Raises PedalMissing."""
        try:
            ioctl(self.descriptor, EVIOCSCLOCKID, struct.pack("i", time.CLOCK_MONOTONIC))
            ioctl(self.descriptor, EVIOCGRAB, 1)
        except OSError as error:
            raise _missing(self.path, error) from error

    def read(self) -> bytes | None:
        """Records that have come; empty bytes if there are none now, None when the device has gone."""
        try:
            return os.read(self.descriptor, 24 * 64) or None
        except BlockingIOError:
            return b""
        except OSError:  # ENODEV: unplugged
            return None

    def close(self) -> None:
        with suppress(OSError):
            os.close(self.descriptor)

    def _ask(self, number: int, size: int) -> bytes:
        buffer = bytearray(size)
        try:
            ioctl(self.descriptor, number, buffer)
        except OSError:
            return b""
        return bytes(buffer)


def _missing(path: Path, error: OSError) -> PedalMissing:
    if error.errno in (errno.EACCES, errno.EPERM):
        remedy = "Install the pedal's own rule, hardware/udev/61-rigd-pedal.rules (no need for the group input)."
    elif error.errno == errno.EBUSY:
        remedy = "Another program reads it alone: close it."
    else:
        remedy = "Plug it in; if it was changed for another, choose it anew: rigd pedal."
    return PedalMissing(f"The pedal {path} cannot be used.", f"{error.strerror}.", remedy)
