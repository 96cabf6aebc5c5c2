"""What the film advancer tells unasked, and what follows from it."""

from __future__ import annotations

import secrets

from rigd.errors import RigdError
from rigd.operations import running
from rigd.operations.desk import Desk
from rigd.ports import Change

SWITCH = "stop switch"


async def board_told(desk: Desk, change: Change) -> None:
    """A stop is written down; a board that restarted does not know where the film is; film that comes to the sensor of
    an armed rig is drawn in."""
    feed = desk.engine().feed
    if feed is None:
        return
    match change.what:
        case "stop" if change.detail == "input":
            await feed.was_stopped(SWITCH)
            await desk.engine().watch.disarm(SWITCH)
        case "restarted" | "gone":
            feed.forget()
        case "film in":
            await _begin(desk)


async def _begin(desk: Desk) -> None:
    """Armed, nobody has to press for a new strip."""
    engine, target = desk.engine(), desk.state.target
    if not (engine.watch.armed and engine.fed and target and target.endswith("#1")) or engine.busy:
        return
    try:
        await running.trigger(desk, source="film sensor", nonce=secrets.token_hex(8), target=target)
    except RigdError:
        return  # it was announced
