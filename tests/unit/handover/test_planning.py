"""From a roll as the ledger knows it to plans: what is made, what is left, against which base, how it lies."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from rigd.errors import InputError, NotReady
from rigd.handover.balancing import balanced
from rigd.handover.planning import Wish, clear_1s, plan_roll
from rigd.handover.values import Print
from rigd.model.events import LampMeasured
from rigd.model.state import FrameState, RollState, State
from rigd.model.values import Exposure, Frame, Held, Job, Roll, Strip, Take, Verdict
from rigd.model.words import Colour, Emulsion, Film, Purpose, Quality, Stage, Tone

BASE = {"base_1s_r": 4.0, "base_1s_g": 5.0, "base_1s_b": 4.5}
CORNERS = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))
ROLL = Roll("r-1", "Q 7", "Q_7", "135", Tone.NEGATIVE, Colour.MONO)


def take(number: int, purpose: Purpose = Purpose.WHOLE, seconds: float = 1 / 30, **numbers: float) -> Take:
    verdict = Verdict(Film.PICTURE, Quality.GOOD, "", numbers={"px_per_mm": 60.0, **numbers}, corners=CORNERS)
    return Take(f"t-{number}", f"f-{number}", purpose, 1, Exposure(seconds, ""), Stage.JUDGED, path=f"Q_7/{number}.dng",
                sha256=f"{number:064x}", verdict=verdict)  # fmt: skip


def roll_of(*takes: Take, strip: Strip | None = None, roll: Roll = ROLL, **frame: object) -> RollState:
    frames = {}
    for n, one in enumerate(takes, 1):
        state = FrameState(Frame(one.frame_id or "", "r-1", "s-1", n), (one.take_id,), (one.take_id,), Film.PICTURE)
        frames[one.frame_id or ""] = replace(state, **frame)
    lies = strip or Strip("s-1", "r-1", 1, 6)
    return RollState(roll, {"s-1": lies}, frames, {one.take_id: one for one in takes})


def test_a_roll_becomes_plans_in_the_order_of_the_film():
    plan = plan_roll(State(), roll_of(take(1, **BASE), take(2, **BASE)), Wish())
    assert [frame.frame_id for frame in plan.frames] == ["f-1", "f-2"]
    assert plan.frames[0].clear_1s == (4.0, 5.0, 4.5)
    assert [raw.to for raw in plan.raws] == ["raw/Q_7_001.dng", "raw/Q_7_002.dng"]
    assert plan.frames[1].name == "Q_7_002"
    assert plan.frames[0].lie.corners == CORNERS


def test_the_base_is_the_middle_of_all_that_was_seen_of_it():
    odd = {name: value + 3 for name, value in BASE.items()}
    roll = roll_of(take(1, **BASE), take(2, **odd), take(3, **BASE))
    assert clear_1s(State(), roll) == (4.0, 5.0, 4.5)


def test_a_base_take_is_believed_before_what_lies_beside_pictures():
    held = Held(1 / 30, "1/30", (4.2, 5.2, 4.7), "base take", "t-9")
    assert clear_1s(State(), replace(roll_of(take(1, **BASE)), held=held)) == (4.2, 5.2, 4.7)
    by_rebate = replace(held, how="rebate")
    assert clear_1s(State(), replace(roll_of(take(1, **BASE)), held=by_rebate)) == (4.0, 5.0, 4.5)


def test_without_base_or_lamp_there_is_a_word_for_it():
    with pytest.raises(NotReady, match="base of roll Q 7 was never seen"):
        plan_roll(State(), roll_of(take(1)), Wish())
    slide = replace(ROLL, tone=Tone.POSITIVE)
    with pytest.raises(NotReady, match="lamp was never measured"):
        plan_roll(State(), roll_of(take(1), roll=slide), Wish())
    lamp = LampMeasured("u-1", (5.0, 6.0, 5.5), 8.0, 100)
    assert plan_roll(State(lamp=lamp), roll_of(take(1), roll=slide), Wish()).frames[0].clear_1s == (5.0, 6.0, 5.5)


def test_a_frame_without_a_picture_is_named_and_its_raw_goes_along():
    roll = roll_of(take(1, **BASE), take(2, **BASE))
    blank = replace(roll.frames["f-2"], film=Film.UNEXPOSED)
    plan = plan_roll(State(), replace(roll, frames={**roll.frames, "f-2": blank}), Wish())
    assert [frame.frame_id for frame in plan.frames] == ["f-1"]
    assert [(one.number, one.why) for one in plan.left] == [(2, "unexposed")]
    assert len(plan.raws) == 2


def test_an_empty_roll_is_not_ready():
    with pytest.raises(NotReady, match="no picture to hand over"):
        plan_roll(State(), roll_of(), Wish())


def test_a_second_exposure_goes_into_the_same_picture():
    pair = roll_of(take(1, **BASE), take(2, Purpose.BRACKET, 1 / 4, **BASE))
    frame = replace(pair.frames["f-1"], keeper=("t-1", "t-2"), takes=("t-1", "t-2"))
    plan = plan_roll(State(), replace(pair, frames={"f-1": frame}), Wish())
    assert [(s.purpose, s.seconds) for s in plan.frames[0].sources] == [("whole", 1 / 30), ("bracket", 1 / 4)]
    assert [raw.to for raw in plan.raws] == ["raw/Q_7_001a.dng", "raw/Q_7_001b.dng"]
    assert plan.frames[0].name == "Q_7_001"


@pytest.mark.parametrize(
    ("emulsion", "turn", "along_x", "lie"),
    [(Emulsion.DOWN, 0, 1.0, (0, False)), (Emulsion.UP, 0, 1.0, (0, True)), (Emulsion.DOWN, 180, 1.0, (2, False)),
     (Emulsion.UP, 180, 0.0, (3, True)), (Emulsion.DOWN, 0, 0.0, (1, False))],
)  # fmt: skip
def test_a_strip_says_how_its_pictures_lie(emulsion, turn, along_x, lie):
    roll = roll_of(take(1, along_x=along_x, **BASE), strip=Strip("s-1", "r-1", 1, 6, emulsion, turn))
    plan = plan_roll(State(), roll, Wish()).frames[0]
    assert (plan.lie.quarters, plan.lie.mirrored) == lie


def test_square_pictures_stay_as_they_lie():
    square = replace(ROLL, film_format="120-6x6")
    plan = plan_roll(State(), roll_of(take(1, along_x=0.0, **BASE), roll=square), Wish())
    assert plan.frames[0].lie.quarters == 0


def test_the_whole_sight_has_no_corners():
    assert plan_roll(State(), roll_of(take(1, **BASE)), Wish(margin_mm=None)).frames[0].lie.corners == ()


def test_names_that_cannot_be_are_refused_before_anything_is_made():
    job = Job("j", "Survey", names="{roll}")
    with pytest.raises(InputError, match="more than once"):
        plan_roll(State(job=job), roll_of(take(1, **BASE), take(2, **BASE)), Wish())


def test_the_key_changes_with_all_that_changes_the_picture():
    frame = plan_roll(State(), roll_of(take(1, **BASE)), Wish()).frames[0]
    others = [replace(frame, print=Print(1.2)), replace(frame, clear_1s=(4.0, 5.0, 4.6)), replace(frame, xmp=b"x"),
              replace(frame, sources=(replace(frame.sources[0], sha256="1" * 64),))]  # fmt: skip
    assert len({one.key() for one in (frame, *others)}) == 5
    assert replace(frame).key() == frame.key()


def test_frames_far_from_the_middle_are_brought_nearer_and_the_others_left():
    roll = roll_of(take(1, **BASE), take(2, **BASE), take(3, **BASE))
    plans = plan_roll(State(), roll, Wish()).frames
    ramp = np.linspace(0.2, 1.0, 19)
    tones = {f"f-{n}": [(d, d, d) for d in (ramp + shift).tolist()] for n, shift in ((1, 0.0), (2, 0.5), (3, -0.5))}
    even = balanced(plans, tones, 0.5)
    stops = 0.5 / 0.62 / np.log10(2)
    assert [p.print.lighter_stops for p in even] == pytest.approx([0.0, -(stops - 0.5), stops - 0.5], abs=0.02)
    assert [p.print.lighter_stops for p in balanced(plans, tones, None)] == [0.0, 0.0, 0.0]
    assert even[0].middle[1] == pytest.approx(0.6, abs=0.01)
