"""The fold of shutters that are held; `web/state/exposing.js` mirrors it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from rigd.model.copies import with_roll
from rigd.model.events_exposing import ShutterHeld, ShutterReleased
from rigd.model.state import RollState, State


def _held(state: State, e: ShutterHeld) -> State:
    roll = state.rolls.get(e.roll_id)
    return state if roll is None else with_roll(state, replace(roll, held=e.held))


def _released(state: State, e: ShutterReleased) -> State:
    roll = state.rolls.get(e.roll_id)
    return state if roll is None else with_roll(state, replace(roll, held=None))


def released(rolls: dict[str, RollState]) -> dict[str, RollState]:
    """The rolls without held shutters: another set-up has another light."""
    return {i: replace(r, held=None) if r.held is not None else r for i, r in rolls.items()}


EXPOSING_STEPS: dict[type[Any], Callable[[State, Any], State]] = {ShutterHeld: _held, ShutterReleased: _released}
