"""The serial line between board and host: bytes take their time, and some are lost or spoilt on request."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from rigd_sim.board.board import Board, Outside

TICKS_PER_BYTE = 350  # ten bits at the board's 57142.9 baud
_BOOTLOADER_TICKS = 3_000_000  # such boards take about 1.5 s after their port is opened


@dataclass
class Spoil:
    """After `skip` bytes, `count` bytes are lost, or have the bits of `mask` flipped."""

    how: str
    skip: int = 0
    count: int = 1
    mask: int = 1

    def passed(self, byte: int) -> int | None:
        """The byte as it arrives, or None if it does not."""
        if self.count <= 0:
            return byte
        if self.skip > 0:
            self.skip -= 1
            return byte
        self.count -= 1
        return byte ^ self.mask if self.how == "flip" else None


class Line:
    """A board with its serial line. `deliver` gets what reaches the host and tells how much of it
    did (0 while it is unplugged). Time is moved by `run`."""

    def __init__(self, outside: Outside, deliver: Callable[[bytes], int]) -> None:
        self.outside, self._deliver = outside, deliver
        self.spoil = {"in": Spoil("lose", count=0), "out": Spoil("lose", count=0)}
        self._in: deque[int] = deque()
        self._next_in = self._free_out = self._deaf_until = 0
        self._out: deque[tuple[int, bytes]] = deque()
        self._tick = 0
        self.sent = self.got = 0
        self.board = Board(outside, self._send)

    @property
    def tick(self) -> int:
        return self._tick

    def reset(self, why: str, deaf: bool = False) -> None:
        """The board starts anew; with `deaf` its bootloader swallows what comes for a while."""
        self._out.clear()
        self._deaf_until = self._tick + _BOOTLOADER_TICKS * deaf
        self._free_out = max(self._tick, self._deaf_until)
        self.board = Board(self.outside, self._send, why, self._free_out)

    def _send(self, tick: int, line: bytes) -> None:
        self._free_out = max(self._free_out, tick) + len(line) * TICKS_PER_BYTE
        self._out.append((self._free_out, line))

    def receive(self, data: bytes) -> None:
        """The host has sent this."""
        self.got += len(data)
        if self._tick >= self._deaf_until:
            self._in.extend(data)

    def due(self) -> int | None:
        """Tick at which the next byte arrives or the next line has left; None if nothing is on its way."""
        ins = [max(self._next_in, self._tick)] if self._in else []
        outs = [self._out[0][0]] if self._out else []
        return min(ins + outs, default=None)

    def run(self, until: int) -> None:
        """Let time pass up to that tick."""
        while self._in and (due := max(self._next_in, self._tick)) <= until:
            self._pass(due)
            self._next_in = due + TICKS_PER_BYTE
            byte = self.spoil["in"].passed(self._in.popleft())
            if byte is not None:
                self.board.take(byte)
        self._pass(until)

    def _pass(self, until: int) -> None:
        if until >= self._deaf_until:
            self.board.run(until)
        self._tick = max(self._tick, until)
        while self._out and self._out[0][0] <= self._tick:
            self._post(self._out.popleft()[1])

    def _post(self, line: bytes) -> None:
        passed = [self.spoil["out"].passed(byte) for byte in line]
        self.deliver(bytes(byte for byte in passed if byte is not None))

    def deliver(self, data: bytes) -> None:
        """These bytes reach the host."""
        self.sent += self._deliver(data)
