"""Simulated devices as processes of their own, started and ended with the block that asks for them."""

from __future__ import annotations

import asyncio
import contextlib
import json
import sys
import tempfile
from collections.abc import AsyncIterator
from dataclasses import dataclass, field, replace
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
    """Where the simulated devices are: the camera's address for libgphoto2, the control socket of the hand; the serial
    port of the film advancer and its own control socket, where there is one."""

    camera: str
    control: Path
    board: Path | None = None
    board_control: Path | None = None


@contextlib.asynccontextmanager
async def simulated_rig(
    film: SimulatedFilm, first_strip: bool = False, advancer: bool = False
) -> AsyncIterator[SimulatedRig]:
    """Start the simulated devices and wait until they are ready; they end with the block, or with this process.

    Args:
        first_strip: the roll's first strip lies in the gate from the start; else the gate is empty.
        advancer: a film advancer moves the film, too.

    Raises:
        RigdError: it did not start; what it said.
    """
    with tempfile.TemporaryDirectory(prefix="rigd-sim-") as folder:
        control = Path(folder) / "control"
        words = ["camera", "--listen", "127.0.0.1:0:0", "--control", str(control), "--until-stdin-closes"]
        async with contextlib.AsyncExitStack() as stack:
            ready = await stack.enter_async_context(_running("camera", [*words, *film.arguments()]))
            if first_strip:
                await asyncio.to_thread(_lay_first, control)
            rig = SimulatedRig(f"ptpip:{ready['camera']}", control)
            if advancer:
                port, hand = Path(folder) / "board", Path(folder) / "board-control"
                words = ["board", "--pty", str(port), "--control", str(hand), "--scene", str(control)]
                await stack.enter_async_context(_running("advancer", [*words, "--until-stdin-closes"]))
                rig = replace(rig, board=port, board_control=hand)
            yield rig


@contextlib.asynccontextmanager
async def _running(name: str, words: list[str]) -> AsyncIterator[dict[str, str]]:
    """A simulated device as a process of its own; what it says when it is ready."""
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "rigd_sim", *words,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, limit=_LINE_BYTES,
    )  # fmt: skip
    try:
        yield await _ready(process, name)
    finally:
        await _ended(process)


def _lay_first(control: Path) -> None:
    with Hand(control) as hand:
        hand.lay(1)


async def _ready(process: asyncio.subprocess.Process, name: str) -> dict[str, str]:
    assert process.stdout is not None
    try:
        line = await asyncio.wait_for(process.stdout.readline(), _READY_S)
    except TimeoutError:
        line = b""
    if not line:
        raise RigdError(
            f"The simulated {name} did not start.",
            "It ended or said nothing; its own words stand above.",
            "Run: python -m rigd_sim --help",
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
