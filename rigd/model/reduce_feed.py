"""The fold of film that a motor moves."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from rigd.model import events_feed as feed
from rigd.model.copies import with_roll
from rigd.model.state import State


def _move_intended(state: State, e: feed.MoveIntended) -> State:
    return replace(state, moving=e.frame_id or e.strip_id)


def _moved(state: State, e: feed.Moved) -> State:
    return replace(state, moving=None)


def _gear_learned(state: State, e: feed.GearLearned) -> State:
    here = state.setup.setup_id if state.setup else ""
    return replace(state, gear=e.gear) if e.setup_id == here else state


def _film_ended(state: State, e: feed.FilmEnded) -> State:
    roll = next((r for r in state.rolls.values() if e.strip_id in r.strips), None)
    if roll is None:
        return state
    strip = replace(roll.strips[e.strip_id], places=e.places)
    state = with_roll(state, replace(roll, strips={**roll.strips, e.strip_id: strip}))
    if state.back is not None and state.back.strip_id == e.strip_id:
        return replace(state, back=replace(state.back, next_place=None))
    if state.strip_id != e.strip_id:
        return state
    return replace(state, next_place=None, strip_id=e.strip_id if state.frame_id else None)


def _film_stopped(state: State, e: feed.FilmStopped) -> State:
    return replace(state, stopped=e.by)


def _stop_cleared(state: State, e: feed.StopCleared) -> State:
    return replace(state, stopped="")


FEED_STEPS: dict[type[Any], Callable[[State, Any], State]] = {
    feed.MoveIntended: _move_intended,
    feed.Moved: _moved,
    feed.GearLearned: _gear_learned,
    feed.FilmEnded: _film_ended,
    feed.FilmStopped: _film_stopped,
    feed.StopCleared: _stop_cleared,
}
