"""`ledger`: the next frame, the tally of the job and one roll's view, at 1,000 and at 1,000,000 takes.

Both ledgers are open in one process, and each look goes to the one and to the other in turn. A roll's view is that of
any roll of the job, nearly always one that is out of hand. The next frame is what a trigger would take now. Beside
these three, `place_frame` is its commit, which waits for the disk: `bare_sync` is what that disk needs for one small
write of the same moment. Files lie on the disk of this checkout, page cache warm.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import random
import shutil
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from statistics import quantiles
from typing import Any

from spread import spread
from tests.speed.ledger_bulk import TAKES, write_ledger

from rigd.app.desks import open_desk
from rigd.config import Settings
from rigd.engine.places import placing
from rigd.model.events import Advanced, Triggered
from rigd.model.plan import RollChanges
from rigd.operations.counting import OfRoll, count_job, count_roll
from rigd.operations.desk import Desk
from rigd.operations.plans import NewRoll, plan
from rigd.operations.rolls import open_roll
from rigd.operations.verb import Nothing

SIZES = (1_000, 1_000_000)
# A percentile of a hundred needs ten beyond it to stand still.
LOOKS = 1000
OPENINGS = 9

Look = Callable[[Desk, int], Awaitable[object]]


def measure() -> dict[str, Any]:
    """`p99_ms_1000`, `p99_ms_1000000`: the slowest of the three at each size; reach 5 ms, growth at most 2."""
    base = Path("build")
    base.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="ledger-", dir=base) as folder:
        roots = {size: Path(folder) / str(size) for size in SIZES}
        written = {size: _seconds(lambda size=size: write_ledger(roots[size], size)) for size in SIZES}
        starts = asyncio.run(_openings(roots))
        looks = asyncio.run(_looks(roots))
        big = roots[SIZES[-1]] / "ledger.sqlite"
        size_mb = big.stat().st_size >> 20
        shutil.rmtree(folder, ignore_errors=True)
    return {**_worst(looks), "looks": looks, "open_s": starts, "written_s": written, "size_mb": size_mb}


def _seconds(work: Callable[[], None]) -> float:
    began = time.perf_counter()
    work()
    return round(time.perf_counter() - began, 1)


async def _openings(roots: dict[int, Path]) -> dict[str, Any]:
    """Seconds from a closed job to its fold, rows and sums: from a checkpoint, as every start but the first is."""
    found: dict[int, list[float]] = {size: [] for size in roots}
    for _ in range(OPENINGS):
        for size, root in roots.items():
            began = time.perf_counter()
            async with open_desk(root, Settings()):
                found[size].append(time.perf_counter() - began)
    return {str(size): spread(seconds) for size, seconds in found.items()}


async def _looks(roots: dict[int, Path]) -> dict[str, dict[str, Any]]:
    """Milliseconds of each look at each size: by the clock, and of the processor, where others need it too."""
    took: dict[str, dict[int, list[tuple[float, float]]]] = {name: {size: [] for size in roots} for name in _LOOKS}
    async with contextlib.AsyncExitStack() as stack:
        desks = {size: await stack.enter_async_context(open_desk(root, Settings())) for size, root in roots.items()}
        for desk in desks.values():
            await _open_roll(desk)
        numbers = random.Random(7)
        for turn in range(LOOKS + 20):
            share = numbers.random()
            for size, desk in desks.items():
                for name, look in _LOOKS.items():
                    began, busy = time.perf_counter(), time.process_time()
                    await look(desk, 1 + int(share * size) // TAKES)
                    if turn >= 20:  # the first ones warm the caches
                        took[name][size].append((time.perf_counter() - began, time.process_time() - busy))
                await desk.hub.append(Advanced(str(desk.state.frame_id), 1))
    return {name: {str(size): _figures(values) for size, values in sizes.items()} for name, sizes in took.items()}


async def _open_roll(desk: Desk) -> None:
    await plan(desk, NewRoll(RollChanges(label="HO 1958-001", film_format="135", expected=None)), "speed")
    await open_roll(desk, roll_id="HO 1958-001")


async def _next_frame(desk: Desk, roll: int) -> object:
    return placing(desk.state)


async def _place_frame(desk: Desk, roll: int) -> object:
    found = placing(desk.state)
    return await desk.hub.append(*found.events, Triggered(found.placed.frame.frame_id, "speed"))


async def _tally(desk: Desk, roll: int) -> object:
    return await count_job(desk, Nothing(), "speed")


async def _view(desk: Desk, roll: int) -> object:
    return await count_roll(desk, OfRoll(f"r-{roll:04d}"), "speed")


async def _bare_sync(desk: Desk, roll: int) -> object:
    return await asyncio.to_thread(_write_and_sync, desk.root / "sync.tmp")


def _write_and_sync(path: Path) -> None:
    with path.open("r+b" if path.exists() else "w+b") as file:
        file.write(os.urandom(4096))
        file.flush()
        os.fsync(file.fileno())


_LOOKS: dict[str, Look] = {
    "next_frame": _next_frame,
    "tally": _tally,
    "roll_view": _view,
    "place_frame": _place_frame,
    "bare_sync": _bare_sync,
}
_COUNTED = ("next_frame", "tally", "roll_view")


def _figures(seconds: list[tuple[float, float]]) -> dict[str, float]:
    by_clock, busy = (quantiles([1000 * one for one in values], n=100) for values in zip(*seconds, strict=True))
    figures = {"p50_ms": by_clock[49], "p99_ms": by_clock[98], "busy_p50_ms": busy[49], "busy_p99_ms": busy[98]}
    return {name: round(value, 3) for name, value in figures.items()}


def _worst(looks: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """The slowest look at each size, and how much slower the greater one is."""
    small, big = (str(size) for size in SIZES)
    worst = {size: max(looks[name][size]["p99_ms"] for name in _COUNTED) for size in (small, big)}
    each = {name: round(look[big]["p50_ms"] / look[small]["p50_ms"], 2) for name, look in looks.items()}
    return {
        **{f"p99_ms_{size}": value for size, value in worst.items()},
        "growth": round(worst[big] / worst[small], 2), "growth_of_medians": each,
    }  # fmt: skip
