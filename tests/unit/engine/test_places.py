"""Where the film stands: events of the paper work folded, and what a trigger would take next."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from rigd.engine.places import next_place, placing, roll_is_full
from rigd.errors import NotReady
from rigd.model.events import (
    Advanced,
    AnyEvent,
    Committed,
    FramePlaced,
    FrameRecalled,
    JobOpened,
    KeeperChosen,
    RollClosed,
    RollOpened,
    RollPlanned,
    StripLoaded,
)
from rigd.model.reduce import fold
from rigd.model.state import State
from rigd.model.values import Job, Roll
from rigd.model.words import Colour, Emulsion, Film, Tone

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def _state(*events: AnyEvent, start: State | None = None) -> State:
    first = (start.seq if start else 0) + 1
    return fold([Committed(n, NOON, e) for n, e in enumerate(events, first)], start)


def _roll(expected: tuple[int, int] | None = (6, 6), places: int | None = 3) -> list[AnyEvent]:
    roll = Roll("r-0001", "Quay", "Quay", "120-6x6", Tone.NEGATIVE, Colour.MONO, expected, places)
    return [JobOpened(Job("j", "Harbour")), RollPlanned(roll), RollOpened("r-0001")]


def _feed(state: State, frames: int) -> State:
    """Take so many frames as the engine would, each one kept at once."""
    for _ in range(frames):
        found = placing(state)
        frame_id = found.placed.frame.frame_id
        state = _state(*found.events, start=state)
        assert state.roll is not None
        after: list[AnyEvent] = [KeeperChosen(frame_id, ("t",), Film.PICTURE)]
        after.append(Advanced(frame_id, next_place(state.roll, frame_id)))
        if roll_is_full(state.roll, frame_id):
            after.append(RollClosed("r-0001"))
        state = _state(*after, start=state)
    return state


def test_the_first_trigger_announces_strip_and_frame() -> None:
    found = placing(_state(*_roll()))
    assert [type(e) for e in found.events] == [StripLoaded, FramePlaced]
    assert found.placed.strip.assumed
    assert (found.placed.strip.number, found.placed.frame.place) == (1, 1)


def test_frames_follow_each_other_and_strips_too() -> None:
    state = _feed(_state(*_roll()), 5)
    assert state.target == "s-0002#3"
    places = [(f.frame.strip_id, f.frame.place) for f in state.rolls["r-0001"].frames.values()]
    assert places == [("s-0001", 1), ("s-0001", 2), ("s-0001", 3), ("s-0002", 1), ("s-0002", 2)]


def test_a_full_roll_closes_itself_and_refuses_more() -> None:
    state = _feed(_state(*_roll()), 6)
    assert state.rolls["r-0001"].closed
    assert state.target is None
    with pytest.raises(NotReady, match="complete"):
        placing(state)


def test_an_unknown_count_never_closes() -> None:
    state = _feed(_state(*_roll(expected=None, places=None)), 40)
    assert not state.rolls["r-0001"].closed
    assert state.target == "s-0001#41"


def test_a_recalled_frame_is_the_target_even_of_a_closed_roll() -> None:
    state = _feed(_state(*_roll()), 6)
    again = _state(FrameRecalled("f-00002"), start=state)
    assert again.target == "s-0001#2"
    assert placing(again).events == ()
    assert again.roll is not None
    assert next_place(again.roll, "f-00002") is None


def test_an_assumed_strip_lies_as_the_one_before() -> None:
    state = _state(*_roll())
    first = placing(state)
    strip = first.placed.strip
    turned = type(strip)(strip.strip_id, strip.roll_id, 1, 3, Emulsion.UP, 180)
    state = _feed(_state(StripLoaded(turned), start=state), 3)
    follows = placing(state).placed.strip
    assert (follows.emulsion, follows.turn, follows.assumed) == (Emulsion.UP, 180, True)


def test_without_a_roll_nothing_can_be_placed() -> None:
    with pytest.raises(NotReady, match="No roll is open"):
        placing(_state(JobOpened(Job("j", "Harbour"))))
