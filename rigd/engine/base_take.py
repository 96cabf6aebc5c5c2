"""A take of clear film, to meter the base of a roll and hold its shutter."""

from __future__ import annotations

import asyncio
from pathlib import Path

from rigd.engine.holding import held_at
from rigd.engine.policy import first_exposure
from rigd.engine.rig import Rig
from rigd.engine.settle import settle
from rigd.engine.taking import Taking
from rigd.errors import NotReady
from rigd.imaging import open_raw
from rigd.imaging.base import Amiss, base_level
from rigd.model.events_exposing import ShutterHeld
from rigd.model.state import RollState
from rigd.model.values import Strip
from rigd.model.words import Purpose

# Three stops shorter where it burnt out, three longer where it drowned: six takes span any shutter list.
_STEP_STOPS = {"full": -3.0, "dark": 3.0}
_TRIES = 6
# Clear film takes some light away, even the clearest: what is within this of the bare lamp, in stops, is no film.
_NO_FILM_STOPS = 0.08

Three = tuple[float, float, float]


async def meter_base(rig: Rig, taking: Taking, roll: RollState, by: str) -> ShutterHeld:
    """Expose the clear film in the gate until its base can be measured, and commit the shutter that is held from now.

    Raises:
        NotReady: a picture lies in the gate, or nothing; or no shutter within the limits measures it.
    """
    await settle(rig, None)
    wanted = rig.state.next_shutter_s or rig.first_s
    strip = Strip("", roll.roll.roll_id, 0, None)
    for _ in range(_TRIES):
        menu, bounds = rig.joined().shutters, rig.bounds(roll)
        want = first_exposure(wanted, rig.first_s, menu, bounds, rig.f_number, rig.iso)
        take = await taking.finish(await taking.expose(None, Purpose.BASE, want, strip))
        found = await asyncio.to_thread(_level, rig.store.root / take.path, take.want.shutter_s)
        if isinstance(found, tuple):
            _require_film(rig, found)
            chosen = held_at(found, menu, bounds, rig.metering, "base take", take.take_id)
            held = ShutterHeld(roll.roll.roll_id, chosen, by)
            await rig.hub.append(held)
            return held
        if found == "picture":
            raise NotReady(
                "That is no clear film.", "Its light varies as a picture's does.",
                "Lay a leader, or a gap that fills the gate's middle, into the gate; then meter again.",
            )  # fmt: skip
        wanted = take.want.shutter_s * 2.0 ** _STEP_STOPS[found]
    raise NotReady(
        "The base cannot be measured.", "It is burnt out or black at every shutter within the limits.",
        "Look at lamp and aperture, or widen fastest and slowest of the roll.",
    )  # fmt: skip


def _level(path: Path, seconds: float) -> Three | Amiss:
    return base_level(open_raw(path), seconds)


def _require_film(rig: Rig, base_1s: Three) -> None:
    lamp = rig.state.lamp
    if lamp is None or any(abs(a - b) > _NO_FILM_STOPS for a, b in zip(base_1s, lamp.level_1s, strict=True)):
        return
    raise NotReady(
        "No film lies in the gate.", "It is as light as the bare lamp.",
        "Lay clear film of this roll, such as its leader, into the gate; then meter again.",
    )  # fmt: skip
