"""The serial port and the thread that reads it. Foreign errors become BoardError here, and nowhere else."""

from __future__ import annotations

import asyncio
import errno
import threading
from collections.abc import Callable
from contextlib import suppress

import serial

from rigd.errors import BoardError, BoardLost, BoardMissing

try:
    from termios import error as _terminal_error
except ImportError:  # a system without terminals of that kind
    _terminal_error = OSError  # type: ignore[misc, assignment]

FOREIGN = (serial.SerialException, OSError, _terminal_error)
"""A pulled cable shows as any of these; termios.error is no OSError, and `is_open` stays True."""

BAUD = 57600
LOOK_S = 0.2  # how long a read waits before it looks whether the port shall be closed
WRITE_S = 0.5  # a port that takes no bytes for so long is lost


class Port:
    """One opened port. `heard` and `lost` are called in the event loop; `lost` once, and not after `close`."""

    def __init__(
        self, url: str, device: serial.SerialBase, heard: Callable[[bytes], None], lost: Callable[[BoardError], None]
    ) -> None:
        self._url, self._device = url, device
        self._heard, self._lost = heard, lost
        self._loop = asyncio.get_running_loop()
        self._closing = False
        self._thread = threading.Thread(target=self._read, name="board-reader", daemon=True)
        self._thread.start()

    @classmethod
    async def open(cls, url: str, heard: Callable[[bytes], None], lost: Callable[[BoardError], None]) -> Port:
        """Raises BoardMissing."""
        try:
            device = await asyncio.to_thread(_open, url)
        except (*FOREIGN, ValueError) as error:
            raise _missing(url, error) from error
        return cls(url, device, heard, lost)

    def write(self, data: bytes) -> None:
        """Hand the bytes to the system. Raises BoardLost."""
        try:
            self._device.write(data)
        except FOREIGN as error:
            raise gone(self._url, error) from error

    async def close(self) -> None:
        """End the reader and give the port back. Never raises."""
        self._closing = True
        with suppress(*FOREIGN, AttributeError):  # not every kind of port can be woken; then it wakes by itself
            self._device.cancel_read()
        await asyncio.to_thread(self._thread.join)
        with suppress(*FOREIGN):
            self._device.close()

    def _read(self) -> None:
        try:
            while not self._closing:
                data = self._device.read(1)
                if data:
                    self._post(self._heard, data + self._device.read(self._device.in_waiting))
        except FOREIGN as error:
            if not self._closing:
                self._post(self._lost, gone(self._url, error))

    def _post(self, call: Callable[..., None], value: object) -> None:
        with suppress(RuntimeError):  # the loop has been closed under us: nobody is left to tell
            self._loop.call_soon_threadsafe(call, value)


def _open(url: str) -> serial.SerialBase:
    return serial.serial_for_url(url, BAUD, timeout=LOOK_S, write_timeout=WRITE_S, exclusive=True)


def gone(url: str, error: BaseException | None = None) -> BoardLost:
    """The board went away."""
    return BoardLost(
        f"The film advancer at {url} has gone.",
        f"{error}." if error else "It does not answer any more.",
        "Check its cable and its supply; then press Recover and find the film's place again.",
    )


def _missing(url: str, error: BaseException) -> BoardMissing:
    number = getattr(error, "errno", None)
    if number in (errno.EACCES, errno.EPERM):
        remedy = "Install hardware/udev/60-rigd.rules, or add the user to the group dialout, and log in again."
    elif number in (errno.EAGAIN, errno.EBUSY):
        remedy = "Another program has the port open: close it."
    else:
        remedy = "Plug it in, and check the address in the settings (best one below /dev/serial/by-id)."
    return BoardMissing(f"The film advancer at {url} cannot be opened.", f"{error}.", remedy)
