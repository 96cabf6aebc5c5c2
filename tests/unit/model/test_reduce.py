"""The fold: pure, the same from any starting point, and true to what each event says."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.model.histories import START, WANT, histories

from rigd.model import events as ev
from rigd.model.events_feed import FilmEnded, FilmStopped, GearLearned, Moved, MoveIntended, StopCleared
from rigd.model.reduce import fold, reduce
from rigd.model.state import State
from rigd.model.values import CardFile, Frame, Job, Roll, Setup, Strip, Verdict
from rigd.model.words import Colour, Decision, Film, Purpose, Quality, Stage, Tone


def told(*events: ev.AnyEvent) -> State:
    return fold(ev.Committed(n, START, event) for n, event in enumerate(events, 1))


ROLL = Roll("r-1", "Pier 7", "Pier_7", "135", Tone.NEGATIVE, Colour.MONO, (36, 37))
FRAME = (
    ev.JobOpened(Job("j-1", "Harbour office")),
    ev.RollPlanned(ROLL),
    ev.RollOpened("r-1"),
    ev.StripLoaded(Strip("s-1", "r-1", 1, 6)),
    ev.FramePlaced(Frame("f-1", "r-1", "s-1", 1)),
)
TAKE = (
    ev.ExposureIntended("t-1", "f-1", Purpose.WHOLE, 1, WANT),
    ev.Exposed("t-1", 0.3, (CardFile("/DCIM", "IMG_0001.DNG", 9),)),
    ev.Fetched("t-1", "Pier_7/.t-1.part", 9),
    ev.Stored("t-1", "Pier_7/a.dng", "0" * 64, 9),
    ev.Judged("t-1", Verdict(Film.PICTURE, Quality.GOOD, "good"), Decision.KEEP, "good", 1 / 30),
)
STAGES = (Stage.INTENDED, Stage.EXPOSED, Stage.FETCHED, Stage.STORED, Stage.JUDGED)


@settings(deadline=None)  # a busy machine is no fault
@given(histories)
def test_folding_changes_no_state_that_was_handed_out(events: list[ev.Committed]) -> None:
    state = State()
    for committed in events:
        before = msgspec.json.encode(state)
        after = reduce(state, committed)
        assert msgspec.json.encode(state) == before
        assert after == reduce(state, committed)
        assert after.seq == committed.seq
        state = after


@settings(deadline=None)  # a busy machine is no fault
@given(histories, st.data())
def test_a_stored_state_and_the_rest_give_the_whole(events: list[ev.Committed], data: st.DataObject) -> None:
    cut = data.draw(st.integers(0, len(events)))
    half = msgspec.msgpack.decode(msgspec.msgpack.encode(fold(events[:cut])), type=State)
    assert fold(events[cut:], half) == fold(events)


@settings(deadline=None)  # a busy machine is no fault
@given(histories)
def test_events_come_back_from_their_text_as_they_were(events: list[ev.Committed]) -> None:
    assert [ev.decode_event(ev.encode_event(c.event)) for c in events] == [c.event for c in events]


@pytest.mark.parametrize("steps", range(1, 6))
def test_a_take_is_worked_on_until_it_is_judged(steps: int) -> None:
    state = told(*FRAME, *TAKE[:steps])
    take = state.take("t-1")
    assert take is not None
    assert take.stage is STAGES[steps - 1]
    assert state.working == (None if steps == 5 else "t-1")


@pytest.mark.parametrize("steps", range(1, 5))
def test_a_lost_take_is_worked_on_no_more(steps: int) -> None:
    state = told(*FRAME, *TAKE[:steps], ev.TakeLost("t-1", "nothing on the card"))
    take = state.take("t-1")
    assert take is not None
    assert (take.stage, take.lost_why, state.working) == (Stage.LOST, "nothing on the card", None)


def test_a_take_of_no_frame_is_done_when_it_is_safe() -> None:
    flat = ev.ExposureIntended("t-1", None, Purpose.FLAT, 1, WANT)
    state = told(*FRAME, flat, *TAKE[1:4])
    assert state.working is None
    assert list(state.loose) == ["t-1"]


def test_the_corrected_shutter_is_carried_until_the_set_up_changes() -> None:
    state = told(ev.SetupDescribed(Setup("u-1")), *FRAME, *TAKE)
    assert state.next_shutter_s == 1 / 30
    same = reduce(state, ev.Committed(state.seq + 1, START, ev.SetupDescribed(Setup("u-1", lens="other words"))))
    assert same.next_shutter_s == 1 / 30
    fresh = reduce(state, ev.Committed(state.seq + 1, START, ev.SetupDescribed(Setup("u-2"))))
    assert fresh.next_shutter_s is None


def test_a_frame_that_is_recalled_brings_its_roll_and_strip() -> None:
    other = Roll("r-2", "Pier 8", "Pier_8", "135", Tone.NEGATIVE, Colour.MONO)
    state = told(*FRAME, ev.RollClosed("r-1"), ev.RollPlanned(other), ev.RollOpened("r-2"), ev.FrameRecalled("f-1"))
    assert (state.roll_id, state.strip_id, state.frame_id) == ("r-1", "s-1", "f-1")


def test_a_movement_that_was_begun_is_remembered_until_it_is_done() -> None:
    begun = told(*FRAME, *TAKE, MoveIntended("f-1", 38.0))
    assert begun.moving == "f-1"
    # The film moves while the file is still being stored: being done with the frame is no end of the movement.
    begun = reduce(begun, ev.Committed(begun.seq + 1, START, ev.Advanced("f-1", 2)))
    assert begun.moving == "f-1"
    assert reduce(begun, ev.Committed(begun.seq + 1, START, Moved("f-1", 38.0))).moving is None


def test_the_gear_is_the_set_ups_own() -> None:
    state = told(ev.SetupDescribed(Setup("u-1")), GearLearned("u-1", -0.99, 28.0), GearLearned("u-0", 2.0, 28.0))
    assert state.gear == -0.99
    state = reduce(state, ev.Committed(state.seq + 1, START, ev.SetupDescribed(Setup("u-1", "another holder"))))
    assert state.gear == -0.99
    assert reduce(state, ev.Committed(state.seq + 1, START, ev.SetupDescribed(Setup("u-2")))).gear is None


def test_a_strip_that_ends_early_is_through() -> None:
    state = told(*FRAME, *TAKE, ev.Advanced("f-1", 2), FilmEnded("s-1", 1, "No film follows."))
    assert (state.target, state.rolls["r-1"].strips["s-1"].places) == ("new#1", 1)


def test_a_stop_lasts_until_it_is_cleared() -> None:
    state = told(FilmStopped("pedal"))
    assert state.stopped == "pedal"
    assert reduce(state, ev.Committed(state.seq + 1, START, StopCleared("page"))).stopped == ""


def test_damage_takes_the_verification_back() -> None:
    state = told(*FRAME, *TAKE, ev.Verified("t-1"), ev.Damaged("t-1", "other checksum"))
    take = state.take("t-1")
    assert take is not None
    assert not take.verified
