"""A picture of what is written on a strip, its sleeve or its mount, so that its number can be proved later."""

from __future__ import annotations

from rigd.engine.live import LiveFeed
from rigd.engine.policy import first_exposure
from rigd.engine.rig import Rig
from rigd.engine.settle import settle
from rigd.engine.taking import Taking
from rigd.model.values import Strip, Take


async def take_label(rig: Rig, live: LiveFeed, taking: Taking, strip: Strip) -> Take:
    """Settle, expose once with the shutter in force, store. Nothing is judged: paper is no film."""
    await settle(rig, None)
    known = rig.state.next_shutter_s
    want = first_exposure(known, rig.first_s, rig.joined().shutters, rig.bounds(), rig.f_number, rig.iso)
    async with live.still():
        return await taking.label(want, strip)
