"""The wait until the film is still: a fixed delay."""

from __future__ import annotations

from rigd.engine.rig import Rig
from rigd.engine.steps import Placed, Still
from rigd.model.events import Settled


async def settle(rig: Rig, placed: Placed | None) -> Still:
    """Wait, then commit that the wait is over."""
    rig.phase("settle")
    await rig.clock.sleep(rig.settle_s)
    frame_id = placed.frame.frame_id if placed else None
    await rig.hub.append(Settled(frame_id, rig.settle_s, "fixed"))
    return Still(placed, rig.settle_s)
