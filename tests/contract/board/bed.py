"""A board on a bed: the compiled firmware in its emulator, or the twin; both with the same control socket.

Time stands still unless a test moves it. The driver's clock is the board's, so that nothing depends on the machine.
"""

from __future__ import annotations

import asyncio
import heapq
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from rigd.drivers.board import BoardClient
from rigd_sim.control import Hand

HOME = Path(__file__).parents[3]
BUILT = HOME / "build" / "board"
CYCLES_PER_S = 16_000_000
CHUNK_US = 2000
PATIENCE_S = 20.0  # of real time, before a test that hangs is given up

NEEDED = {
    "avr-gcc": shutil.which("avr-gcc"),
    "make": shutil.which("make"),
    "gcc": shutil.which("gcc"),
    "libsimavr-dev": Path("/usr/include/simavr/sim_avr.h").exists(),
}
LACKING = [name for name, there in NEEDED.items() if not there]

T = TypeVar("T")


def build() -> None:
    """Compile firmware and bench, where they have changed."""
    for part in ("firmware", "bench"):
        subprocess.run(["make", "-s", "-C", str(HOME / "hardware" / part)], check=True, stdout=subprocess.DEVNULL)


def command(kind: str, pty: Path, control: Path, held: bool) -> list[str]:
    if kind == "firmware":
        end = [] if held else ["real"]
        return [str(BUILT / "bench"), str(BUILT / "board.elf"), str(pty), str(control), *end]
    arguments = ["--pty", str(pty), "--control", str(control), "--until-stdin-closes"]
    return [sys.executable, "-m", "rigd_sim", "board", *arguments, *(["--held"] if held else [])]


class BoardClock:
    """The Clock port on the board's own time."""

    def __init__(self) -> None:
        self.us = 0
        self._sleepers: list[tuple[int, int, asyncio.Future[None]]] = []
        self._count = 0

    def now(self) -> datetime:
        return datetime(2026, 1, 1, tzinfo=UTC) + timedelta(microseconds=self.us)

    def monotonic(self) -> float:
        return self.us / 1e6

    async def sleep(self, seconds: float) -> None:
        self._count += 1
        future: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._sleepers, (self.us + int(max(0.0, seconds) * 1e6), self._count, future))
        await future

    def move(self, us: int) -> None:
        """It is so late now."""
        self.us = us
        while self._sleepers and self._sleepers[0][0] <= us:
            future = heapq.heappop(self._sleepers)[2]
            if not future.done():
                future.set_result(None)

    def due_us(self) -> int | None:
        """When the next sleeper wakes."""
        while self._sleepers and self._sleepers[0][2].done():
            heapq.heappop(self._sleepers)
        return self._sleepers[0][0] if self._sleepers else None


class Bed:
    """One board. `hand` is its control socket; `url` what the driver opens."""

    def __init__(self, kind: str, url: str, hand: Hand) -> None:
        self.kind, self.url, self.hand = kind, url, hand
        self.clock = BoardClock()
        self.clients: list[BoardClient] = []
        self._lost_bytes = 0

    def call(self, verb: str, **args: object) -> dict[str, object]:
        result = self.hand.call(verb, **args)
        assert isinstance(result, dict)
        return result

    def look(self) -> dict[str, object]:
        return self.call("look")

    def steps(self, since: int = 0) -> list[int]:
        """Cycles at which steps were made."""
        cycles = self.hand.call("steps", since=since)
        assert isinstance(cycles, list)
        return cycles

    def eeprom(self, **args: int) -> bytes:
        return bytes.fromhex(str(self.hand.call("eeprom", **args)))

    def count(self) -> int:
        return int(str(self.look()["steps"]))

    def client(self) -> BoardClient:
        client = BoardClient(self.url, self.clock)
        self.clients.append(client)
        return client

    def plug(self, on: bool) -> None:
        """The cable in, or out. What was on its way is lost."""
        self.call("plug", on=on)
        self._lost_bytes = self._written() - int(str(self.look()["got"]))

    def _written(self) -> int:
        return sum(client.link.written for client in self.clients)

    def advance(self, us: int) -> None:
        """Move the board's time, and nobody else's."""
        self.clock.move(int(str(self.call("advance", us=us)["us"])))

    async def pass_time(self, seconds: float) -> None:
        """Let so much of the board's time pass, with the driver keeping up."""
        end = int(str(self.look()["us"])) + int(seconds * 1e6)
        while self.clock.us < end:
            await self._chunk(end)

    async def during(self, work: Awaitable[T]) -> T:
        """Let the board's time pass until that is done."""
        task = asyncio.ensure_future(work)
        give_up = time.monotonic() + PATIENCE_S
        await self._settle()
        while not task.done():
            await self._chunk(self.clock.us + CHUNK_US)
            assert time.monotonic() < give_up, "the driver hangs"
        return await task

    async def until(self, true: Callable[[], object], seconds: float = 5.0) -> None:
        """Let the board's time pass until that holds, at most so much of it."""
        end = self.clock.us + int(seconds * 1e6)
        while not true():
            assert self.clock.us < end, "it does not happen"
            await self._chunk(end)

    async def _chunk(self, end: int) -> None:
        due = self.clock.due_us()
        until = min(self.clock.us + CHUNK_US, end, due if due is not None else end)
        give_up = time.monotonic() + PATIENCE_S
        while int(str(self.look()["got"])) < self._written() - self._lost_bytes:
            assert time.monotonic() < give_up, "what the driver sent does not arrive"
        listening = [client.link for client in self.clients if client.link.up]
        before = [link.received for link in listening]
        sent = int(str(self.look()["sent"]))
        after = self.call("advance", us=max(1, until - self.clock.us))
        grown = int(str(after["sent"])) - sent
        while any(link.up and link.received - was < grown for link, was in zip(listening, before, strict=True)):
            await asyncio.sleep(0)
            assert time.monotonic() < give_up, "what the board sent does not arrive"
        self.clock.move(int(str(after["us"])))
        await self._settle()

    async def _settle(self) -> None:
        """Give everyone who can go on the time to do so."""
        for _ in range(12):
            await asyncio.sleep(0)


@contextmanager
def board_bed(kind: str, folder: Path, held: bool = True) -> Iterator[Bed]:
    """A board of that kind until the block ends."""
    pty, control = folder / "board", folder / "control"
    environment = os.environ | {"PYTHONPATH": str(HOME / "sim")}
    process = subprocess.Popen(
        command(kind, pty, control, held), stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        assert json.loads(process.stdout.readline())["ready"]
        with Hand(control) as hand:
            yield Bed(kind, str(pty), hand)
        process.stdin.close()
        assert process.wait(10) == 0
    finally:
        process.stdin.close()
        process.kill()
        process.wait()
        process.stdout.close()
