"""`roll`: twelve frames at 24 MP in real time, as three hand-fed strips and by the advancer, nobody pressing anything.

From the moment the rig is armed to the last frame's end: three changes of strips (4 s each), slides by hand (1.5 s
each), or the motor's travel, are in it. By hand alone it takes about 180 s (common practice, no source).
"""

from __future__ import annotations

import asyncio
import os
import tempfile
from pathlib import Path
from statistics import median
from typing import Any

from spread import spread
from steps import roll_seconds, steps

from rigd.app.demo import DemoPlan, showing
from rigd.app.simulators import SimulatedFilm

PAIRS = int(os.environ.get("RIGD_SPEED_PAIRS", "9"))
"""Fewer for a glance: a pair takes about two minutes."""


def measure() -> dict[str, Any]:
    """`hand_s` and `board_s`, medians of nine interleaved rolls of each; reach 60 and 45."""
    runs: dict[str, list[tuple[float, dict[str, float]]]] = {"hand": [], "board": []}
    for pair in range(PAIRS):
        for feed, found in runs.items():
            found.append(asyncio.run(_roll(feed, pair + 1)))
    result: dict[str, Any] = {}
    for feed, found in runs.items():
        seconds = [one[0] for one in found]
        result |= {f"{feed}_s": spread(seconds, 1)["median"], f"{feed}_spread": spread(seconds, 1)}
        result[f"{feed}_steps_s"] = {name: round(median(one[1][name] for one in found), 2) for name in found[0][1]}
    return result


async def _roll(feed: str, seed: int) -> tuple[float, dict[str, float]]:
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        plan = DemoPlan(Path(folder) / "job", SimulatedFilm(seed=seed), feed=feed)
        async with showing(plan) as shown:
            report = await shown.digitise()
            events = await shown.daemon.desk.hub.ledger.read()
    assert not report.missing, report
    return roll_seconds(events), steps(events)
