"""`memory`: how much the daemon and its camera worker hold, over a thousand frames at 2 MP and fifty at 60 MP.

The daemon is a process of its own, as the operator starts it, with its worker below it; the simulator and the hand are
others and are not counted. Rolls of twelve follow one another, as in an evening's work.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from statistics import median
from typing import Any

from rigd.app.simulators import SimulatedFilm, simulated_rig
from rigd.client import RemoteVerbs, remote_verbs
from rigd.errors import Busy, NotReady
from rigd.ledger import read_run_file
from rigd.model.plan import RollChanges
from rigd.model.words import BaseType
from rigd.operations import plans
from rigd.operations.looking import Status
from rigd_sim.control import Hand

# (frames, megapixels); a share of them while developing: RIGD_MEMORY_SHARE=0.1 make speed ONLY=memory.
PARTS = ((1000, 2), (50, 60))
SHARE = float(os.environ.get("RIGD_MEMORY_SHARE", "1"))
ROLL, STRIP = 12, 4
PATIENCE_S = 180.0
SAMPLE_S = 0.1


def measure() -> dict[str, Any]:
    """`peak_mb`: the most of both parts; `growth_mb`: from after the first tenth to the end, the worse of both. Reach
    600 and 5."""
    parts = {f"{mp}_mp": asyncio.run(_part(max(20, round(frames * SHARE)), mp)) for frames, mp in PARTS}
    return {
        "peak_mb": max(p["peak_mb"] for p in parts.values()),
        "growth_mb": max(p["growth_mb"] for p in parts.values()), **parts,
    }  # fmt: skip


async def _part(frames: int, megapixels: int) -> dict[str, Any]:
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        root = Path(folder) / "job"
        film = SimulatedFilm(megapixels, frames=ROLL, strip=STRIP, extra=("--card-megabytes", "4096"))
        async with simulated_rig(film) as rig, _daemon(root, Path(folder), rig.camera) as (verbs, pid):
            with Hand(rig.control) as hand, Meter(pid) as meter:
                after = [await _frame(number, verbs, hand, meter) for number in range(frames)]
                return _figures(after, meter)


def _figures(after: list[float], meter: Meter) -> dict[str, Any]:
    """From what was held after each frame: medians over a twentieth, so that one late picture decides nothing."""
    few, tenth = max(3, len(after) // 20), len(after) // 10
    begin, end = median(after[tenth : tenth + few]), median(after[-few:])
    return {
        "peak_mb": round(meter.peak, 1), "growth_mb": round(end - begin, 1), "after_a_tenth_mb": round(begin, 1),
        "at_the_end_mb": round(end, 1), "daemon_mb": round(meter.last.get("daemon", 0.0), 1),
        "worker_mb": round(meter.last.get("worker", 0.0), 1), "frames": len(after),
    }  # fmt: skip


@contextlib.asynccontextmanager
async def _daemon(root: Path, folder: Path, camera: str) -> AsyncIterator[tuple[RemoteVerbs, int]]:
    config = folder / "rigd.toml"
    config.write_text(f'[camera]\naddress = "{camera}"\n[settle]\ndelay_s = 0.05\n', "utf-8")
    env = {**os.environ, "XDG_STATE_HOME": str(folder / "state")}
    words = ["run", "--job", str(root), "--config", str(config), "--port", "0"]
    with _process([sys.executable, "-m", "rigd", *words], env) as pid:
        async with asyncio.timeout(PATIENCE_S):
            while (run := read_run_file(root)) is None:  # noqa: ASYNC110 - a file tells of the start
                await asyncio.sleep(0.1)
        async with remote_verbs(run.url, run.token) as verbs:
            await verbs.open_job(title="Port of Vessling", default_base=BaseType.SAFETY)
            yield verbs, pid


@contextlib.contextmanager
def _process(command: list[str], env: dict[str, str]) -> Iterator[int]:
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, env=env) as process:
        try:
            yield process.pid
        finally:
            process.terminate()
            process.wait(timeout=30)


async def _frame(number: int, verbs: RemoteVerbs, hand: Hand, meter: Meter) -> float:
    """Take the frame of that number (from 0); MB that are held afterwards."""
    place, strip = number % STRIP, number % ROLL // STRIP
    if number % ROLL == 0:
        await _next_roll(number // ROLL + 1, verbs, hand)
    if place == 0:
        await hand.acall("lay", strip=strip + 1)
        await verbs.load_strip(places=STRIP)
    await hand.acall("slide", frame=place + 1, seconds=0.0)
    await hand.acall("still")
    before = await _triggered(verbs)
    async with asyncio.timeout(PATIENCE_S):
        while not _done(status := await verbs.status(), before):  # noqa: ASYNC110 - asked as a phone would
            await asyncio.sleep(0.05)
    if status.state.trouble is not None:
        await verbs.skip()
    return meter.now()


async def _triggered(verbs: RemoteVerbs) -> str | None:
    """Trigger, as soon as the rig takes it; what it was for."""
    while True:
        try:
            return (await verbs.trigger()).target
        except Busy:  # the camera is being joined
            await asyncio.sleep(0.1)


def _done(status: Status, before: str | None) -> bool:
    state = status.state
    return status.vitals.phase == "idle" and (state.target != before or state.trouble is not None)


async def _next_roll(number: int, verbs: RemoteVerbs, hand: Hand) -> None:
    changes = RollChanges(label=f"HO {number}", film_format="120-6x6", expected=(ROLL, ROLL), strip_places=STRIP)
    roll = await verbs.do(plans.PLAN, plans.NewRoll(changes))
    while True:
        try:
            await verbs.open_roll(roll_id=roll.roll_id)
            break
        except NotReady:  # the camera is being joined
            await asyncio.sleep(0.1)
    if number > 1:  # what was read is in the job; the simulated card lies in the simulator's memory
        await hand.acall("change_card")


class Meter:
    """Samples the resident memory of a process and its children, MB. `last` by "daemon" and "worker"."""

    def __init__(self, pid: int) -> None:
        self._pid = pid
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._sample, name="memory meter")
        self.peak = 0.0
        self.last: dict[str, float] = {}

    def __enter__(self) -> Meter:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def now(self) -> float:
        """What both hold at this moment."""
        found: dict[str, float] = {}
        for whose, held in _resident(self._pid):
            found[whose] = found.get(whose, 0.0) + held
        self.last = found
        held = sum(found.values())
        self.peak = max(self.peak, held)
        return held

    def _sample(self) -> None:
        while not self._over.wait(SAMPLE_S):
            self.peak = max(self.peak, sum(held for _, held in _resident(self._pid)))


def _resident(pid: int) -> Iterator[tuple[str, float]]:
    """("daemon", MB), ("worker", MB): by ps, which Linux and macOS have alike."""
    listed = subprocess.run(["ps", "-A", "-o", "pid=,ppid=,rss="], capture_output=True, text=True, check=True).stdout
    for line in listed.splitlines():
        own, parent, kilobytes = map(int, line.split())
        if pid in (own, parent):
            yield ("daemon" if own == pid else "worker"), kilobytes / 1024
