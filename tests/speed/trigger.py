"""`trigger`: from the command's bytes on the socket to the capture operation on the camera's wire, eight phones watch.

No settle. The command is sent by a process of its own, the phones are another, the simulated camera a third: only the
daemon's own time is in it, and what the operating system adds between them. The wire is read from the simulator's log.
Disk idle, and beside a flush of 120 MB (two raws of 60 MP) that has just begun, in turns.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import secrets
import sys
import tempfile
import threading
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import quantiles
from typing import Any

from spread import spread

from rigd.app.daemon import Daemon, running_daemon
from rigd.app.simulators import SimulatedFilm, SimulatedRig, simulated_rig
from rigd.config import CameraSection, ServerSection, Settings, SettleSection
from rigd.model.words import BaseType
from rigd.operations import rolls
from rigd_sim.control import Hand

PAIRS = 120
PHONES = 8
STRIP = 2
FLUSH_BYTES = 120_000_000
# ISO 15740: InitiateCapture. What a driver may set before it is part of the way, and is in the time.
CAPTURE = 0x100E


def measure() -> dict[str, Any]:
    """`p99_ms` with the disk idle and `p99_ms_flush` beside a flush; reach 5 and 25."""
    idle, flush, pictures = asyncio.run(_run())
    return {
        "p99_ms": _p99(idle), "p99_ms_flush": _p99(flush), "idle_ms": spread(idle, 2), "flush_ms": spread(flush, 2),
        "phones": PHONES, "pictures_each": spread(pictures, 0),
    }  # fmt: skip


def _p99(values: list[float]) -> float:
    return round(quantiles(values, n=100, method="inclusive")[98], 2)


async def _run() -> tuple[list[float], list[float], list[int]]:
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        root = Path(folder)
        # Each frame differs from all before it, or somebody would be asked why.
        film = SimulatedFilm(megapixels=2, frames=STRIP * (PAIRS + 1), strip=STRIP)
        async with (
            simulated_rig(film, first_strip=True) as rig,
            running_daemon(root / "job", _settings(rig)) as daemon,
        ):
            await _paper_work(daemon)
            line = daemon.url.replace("http", "ws", 1) + "/api/live"
            async with (
                _helper("finger.py", "127.0.0.1", str(daemon.doorway.port), daemon.token) as finger,
                _helper("watchers.py", line, daemon.token, str(PHONES)) as phones,
            ):
                await phones.said()
                idle, flush = await _pairs(_Way(daemon, rig, finger), root / "flushed")
                return idle, flush, await phones.ended()


async def _pairs(way: _Way, flushed: Path) -> tuple[list[float], list[float]]:
    """Milliseconds with the disk idle, and beside a flush; the first pair warms up."""
    idle, flush = [], []
    for strip in range(1, PAIRS + 2):
        await way.lay(strip)
        idle.append(await way.once())
        await way.slide()
        with _flushing(flushed):
            flush.append(await way.once())
    return idle[1:], flush[1:]


def _settings(rig: SimulatedRig) -> Settings:
    return Settings(
        camera=CameraSection(address=rig.camera), server=ServerSection(port=0),
        settle=SettleSection(delay_s=0.0, measure=False),
    )  # fmt: skip


async def _paper_work(daemon: Daemon) -> None:
    desk = daemon.desk
    await desk.engine().until_idle()
    await rolls.open_job(desk, title="speed", default_base=BaseType.SAFETY)
    roll = await rolls.plan_roll(desk, label="S", film_format_name="120-6x6")
    await rolls.open_roll(desk, roll_id=roll.roll_id)


@dataclass
class _Helper:
    """A process of its own that is told things by its input and answers by lines."""

    process: asyncio.subprocess.Process

    async def said(self) -> str:
        assert self.process.stdout is not None
        return (await self.process.stdout.readline()).decode().strip()

    async def told(self, line: str) -> str:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n".encode())
        return await self.said()

    async def ended(self) -> list[int]:
        assert self.process.stdin is not None
        self.process.stdin.close()
        return [int(one) for one in (await self.said()).strip("[]").split(",")]


@contextlib.asynccontextmanager
async def _helper(script: str, *words: str) -> AsyncIterator[_Helper]:
    process = await asyncio.create_subprocess_exec(
        sys.executable, str(Path(__file__).parent / script), *words,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
    )  # fmt: skip
    try:
        yield _Helper(process)
    finally:
        assert process.stdin is not None
        process.stdin.close()
        await process.wait()


@dataclass
class _Way:
    """From the finger to the wire."""

    daemon: Daemon
    rig: SimulatedRig
    finger: _Helper

    async def lay(self, strip: int) -> None:
        """A new strip, its first frame in the gate."""
        with Hand(self.rig.control) as hand:
            await asyncio.to_thread(hand.lay, strip)
            await asyncio.to_thread(hand.call, "prepare")
        await rolls.load_strip(self.daemon.desk, places=STRIP)

    async def slide(self) -> None:
        """Its second frame."""
        with Hand(self.rig.control) as hand:
            await asyncio.to_thread(partial(hand.slide, frame=2, seconds=0.0))
            await asyncio.to_thread(hand.call, "prepare")

    async def once(self) -> float:
        """One trigger; milliseconds from its bytes on the socket to the capture operation's last byte on the wire."""
        sent = await self._command("/api/trigger")
        with Hand(self.rig.control) as hand:
            wire = await asyncio.to_thread(hand.wirelog)
        captures = [e["start"] for e in wire if e["kind"] == "operation" and e["code"] == CAPTURE and e["start"] > sent]
        return (min(captures) - sent) * 1e3

    async def _command(self, path: str) -> float:
        body = f'{{"nonce": "{secrets.token_hex(8)}"}}'
        sent, status = (await self.finger.told(f"{path} {body}")).split()
        assert status == "202", f"{path}: {status}"
        await self.daemon.desk.engine().until_idle()
        return float(sent)


@contextlib.contextmanager
def _flushing(place: Path) -> Iterator[None]:
    """120 MB are on their way to the disk when the block begins; they have arrived when it has ended."""
    begun = threading.Event()

    def flush() -> None:
        with place.open("wb") as file:
            file.write(b"\0" * FLUSH_BYTES)
            file.flush()
            begun.set()
            os.fsync(file.fileno())

    thread = threading.Thread(target=flush)
    thread.start()
    begun.wait()
    try:
        yield
    finally:
        thread.join()
        place.unlink()
