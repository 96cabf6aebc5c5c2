"""The bare lamp through the open gate: measured once a set-up, so that clear film can be told from no film."""

from __future__ import annotations

import asyncio
from pathlib import Path

from rigd.engine.policy import first_exposure
from rigd.engine.rig import Rig
from rigd.engine.settle import settle
from rigd.engine.taking import Taking
from rigd.errors import NotReady
from rigd.imaging import open_gate, open_raw
from rigd.model.events import LampMeasured
from rigd.model.values import Exposure

# Each clipped exposure is followed by one three stops shorter: six of them span any shutter list.
_STEP_STOPS = -3.0
_TRIES = 6


async def measure_gate(rig: Rig, taking: Taking) -> LampMeasured:
    """Expose the open gate until it is not clipped, and commit the lamp's level for 1 s.

    Raises:
        NotReady: it stays clipped at the shortest time.
    """
    await settle(rig, None)
    wanted = rig.first_s / 4
    for _ in range(_TRIES):
        want = first_exposure(wanted, rig.first_s, rig.joined().shutters, rig.bounds(), rig.f_number, rig.iso)
        take = await taking.flat(want)
        level = await asyncio.to_thread(_level, rig.store.root / take.path, take.want)
        if level is not None:
            measured = LampMeasured(_setup_id(rig), level, take.want.f_number or 0.0, take.want.iso or 0)
            await rig.hub.append(measured)
            return measured
        wanted = take.want.shutter_s * 2.0**_STEP_STOPS
    raise NotReady(
        "The lamp is too bright to be measured.",
        "The open gate is clipped at the shortest shutter time within the limits.",
        "Dim the lamp or stop the lens down, and measure again.",
    )


def _level(path: Path, exposure: Exposure) -> tuple[float, float, float] | None:
    return open_gate(open_raw(path), exposure)


def _setup_id(rig: Rig) -> str:
    return rig.state.setup.setup_id if rig.state.setup else ""
