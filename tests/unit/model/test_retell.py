"""A job told again from its rolls is the same job, whatever had happened to it."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import given, settings
from msgspec.structs import replace
from tests.unit.model.histories import histories

from rigd.model import events as ev
from rigd.model.reduce import fold
from rigd.model.retell import told_again
from rigd.model.state import FrameState, State
from rigd.model.tally import tally
from rigd.model.words import Stage

THEN = datetime(2031, 3, 9, 20, tzinfo=UTC)


def retold(state: State) -> State:
    """The fold of the events that lead to the rolls of `state`."""
    told = told_again(state.rolls.values(), state.loose.values())
    return fold(ev.Committed(seq, at or THEN, event) for seq, (at, event) in enumerate(told, 1))


def known(frame: FrameState) -> FrameState:
    """Without who spoke last, where nothing hangs on it."""
    return replace(frame, by="")


@settings(deadline=None)
@given(histories)
def test_every_frame_and_every_file_is_there_again(events: list[ev.Committed]) -> None:
    before = fold(events)
    after = retold(before)
    assert {i: tally(roll) for i, roll in after.rolls.items()} == {i: tally(roll) for i, roll in before.rolls.items()}
    for roll_id, roll in before.rolls.items():
        other = after.rolls[roll_id]
        assert (other.roll, other.strips, other.closed) == (roll.roll, roll.strips, roll.closed)
        assert {i: known(f) for i, f in other.frames.items()} == {i: known(f) for i, f in roll.frames.items()}
        for take_id, take in roll.takes.items():
            found = other.takes[take_id]
            assert (found.path, found.sha256, found.frame_id) == (take.path, take.sha256, take.frame_id)
            assert found.stage is (take.stage if take.path else Stage.LOST)
            if take.path:
                assert (found.verdict, found.verified, found.copied, found.cleared) == (
                    take.verdict, take.verified, take.copied, take.cleared,
                )  # fmt: skip


@settings(deadline=None)
@given(histories)
def test_told_twice_it_stays_as_it_is(events: list[ev.Committed]) -> None:
    once = retold(fold(events))
    again = retold(once)
    assert again.rolls == once.rolls
