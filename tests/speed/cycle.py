"""`cycle`: the share of a strip's time that is not physics, 24 MP, fed by the advancer, on the simulated rig in real
time: from the strip's first trigger to its last advance, with all that lies between its frames.

Physics = settle (the rest that the set-up asks for) + exposure and bare transfer by the simulator's wire log + film
travel by the motor's own log + LibRaw's bare unpack of the same files. Strict: what is looked for between two motions
of the motor, and the vibration that dies away before the film counts as still, are no physics here.
"""

from __future__ import annotations

import asyncio
import tempfile
from pathlib import Path
from statistics import median
from typing import Any

from spread import spread

from rigd.app.demo import DemoPlan, showing
from rigd.app.physics_fed import StripTime
from rigd.app.simulators import SimulatedFilm

ROLLS = 3  # of three strips each


def measure() -> dict[str, Any]:
    """`overhead_pct`, median of nine strips; reach 3."""
    strips = [strip for seed in range(1, ROLLS + 1) for strip in asyncio.run(_roll(seed))]
    shares = [strip.overhead_pct for strip in strips]
    parts = {
        name: round(median(100 * strip.parts[name] / strip.seconds for strip in strips), 1) for name in strips[0].parts
    }
    return {"overhead_pct": spread(shares, 1)["median"], "spread": spread(shares, 1), "physics_pct": parts}


async def _roll(seed: int) -> list[StripTime]:
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        plan = DemoPlan(Path(folder) / "job", SimulatedFilm(seed=seed), feed="board")
        async with showing(plan) as shown:
            await shown.digitise()
            return await shown.strips()
