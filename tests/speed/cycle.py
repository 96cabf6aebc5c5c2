"""`cycle`: the share of a frame's cycle that is not physics, 24 MP, on the simulated rig in real time.

Physics = settle + exposure and bare transfer by the simulator's wire log + LibRaw's bare unpack of the same files.
Film travel lies outside the cycles here: the film is fed by the simulated hand.
"""

from __future__ import annotations

import asyncio
import tempfile
from pathlib import Path
from typing import Any

from spread import spread

from rigd.app.demo import DemoPlan, showing
from rigd.app.simulators import SimulatedFilm

RUNS = 3


def measure() -> dict[str, Any]:
    """`overhead_pct`, median of three rolls of twelve; reach 3."""
    shares, seconds = zip(*(asyncio.run(_roll(seed)) for seed in range(1, RUNS + 1)), strict=True)
    return {"overhead_pct": spread(shares)["median"], "spread": spread(shares, 1), "seconds_a_roll": spread(seconds, 1)}


async def _roll(seed: int) -> tuple[float, float]:
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        plan = DemoPlan(Path(folder) / "job", SimulatedFilm(seed=seed))
        async with showing(plan) as shown:
            report = await shown.digitise()
    return report.overhead_pct, report.seconds
