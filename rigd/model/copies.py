"""Copies of a state with one thing changed; nothing is ever changed in place."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from rigd.model.state import FrameState, RollState, State
from rigd.model.values import Take


def with_roll(state: State, roll: RollState) -> State:
    return replace(state, rolls={**state.rolls, roll.roll.roll_id: roll})


def with_frame(state: State, frame: FrameState) -> State:
    roll = state.rolls[frame.frame.roll_id]
    return with_roll(state, replace(roll, frames={**roll.frames, frame.frame.frame_id: frame}))


def with_take(state: State, take: Take) -> State:
    """In the roll of its frame, or of its label; a take of neither is a loose one."""
    roll = state.roll_of(take.frame_id) if take.frame_id else state.rolls.get(take.roll_id or "")
    if roll is None:
        return replace(state, loose={**state.loose, take.take_id: take})
    return with_roll(state, replace(roll, takes={**roll.takes, take.take_id: take}))


def changed_take(state: State, take_id: str, **changes: Any) -> State:
    take = state.take(take_id)
    return state if take is None else with_take(state, replace(take, **changes))


def changed_frame(state: State, frame_id: str, **changes: Any) -> State:
    roll = state.roll_of(frame_id)
    return state if roll is None else with_frame(state, replace(roll.frames[frame_id], **changes))


def done_with(state: State, take_id: str) -> State:
    return replace(state, working=None) if state.working == take_id else state
