"""Simulated devices as processes of their own, started and ended with the block that asks for them."""

from __future__ import annotations

import asyncio
import contextlib
import json
import sys
import tempfile
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path

from rigd.errors import RigdError
from rigd_sim.control import Hand

# Rendering the first frame of a 60 MP scene takes some seconds on two cores.
_READY_S = 60.0
_LINE_BYTES = 1 << 20


@dataclass(frozen=True)
class SimulatedFilm:
    """What lies on the simulated light table, in the simulator's own words."""

    megapixels: int = 24
    film_format: str = "120-6x6"
    tone: str = "negative"
    colour: str = "mono"
    frames: int = 12
    strip: int = 4
    seed: int = 1
    script: str = "harbour"
    compression: str = "none"
    extra: tuple[str, ...] = field(default=())

    def arguments(self) -> list[str]:
        """As command line options of the simulated camera."""
        words = {
            "--megapixels": self.megapixels,
            "--film-format": self.film_format,
            "--tone": self.tone,
            "--colour": self.colour,
            "--frames": self.frames,
            "--strip": self.strip,
            "--seed": self.seed,
            "--script": self.script,
            "--compression": self.compression,
        }
        return [str(word) for pair in words.items() for word in pair] + list(self.extra)


@dataclass(frozen=True)
class SimulatedRig:
    """Where the simulated devices are: the camera's address for libgphoto2, the control socket of the hand."""

    camera: str
    control: Path


@contextlib.asynccontextmanager
async def simulated_rig(film: SimulatedFilm, first_strip: bool = False) -> AsyncIterator[SimulatedRig]:
    """Start the simulated camera and wait until it is ready; it ends with the block, or with this process.

    Args:
        first_strip: the roll's first strip lies in the gate from the start; else the gate is empty.

    Raises:
        RigdError: it did not start; what it said.
    """
    with tempfile.TemporaryDirectory(prefix="rigd-sim-") as folder:
        control = Path(folder) / "control"
        words = ["camera", "--listen", "127.0.0.1:0:0", "--control", str(control), "--until-stdin-closes"]
        process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "rigd_sim", *words, *film.arguments(),
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, limit=_LINE_BYTES,
        )  # fmt: skip
        try:
            ready = await _ready(process)
            if first_strip:
                await asyncio.to_thread(_lay_first, control)
            yield SimulatedRig(f"ptpip:{ready['camera']}", control)
        finally:
            await _ended(process)


def _lay_first(control: Path) -> None:
    with Hand(control) as hand:
        hand.lay(1)


async def _ready(process: asyncio.subprocess.Process) -> dict[str, str]:
    assert process.stdout is not None
    try:
        line = await asyncio.wait_for(process.stdout.readline(), _READY_S)
    except TimeoutError:
        line = b""
    if not line:
        raise RigdError(
            "The simulated camera did not start.",
            "It ended or said nothing; its own words stand above.",
            "Run: python -m rigd_sim camera --listen 127.0.0.1:0:0",
        )
    words: dict[str, str] = json.loads(line)
    return words


async def _ended(process: asyncio.subprocess.Process) -> None:
    if process.stdin is not None:
        process.stdin.close()
    try:
        await asyncio.wait_for(process.wait(), 10.0)
    except TimeoutError:
        process.kill()
        await process.wait()
    # The transport closes its pipes with the last read: without it they are found open at the end.
    if process.stdout is not None:
        await process.stdout.read()
