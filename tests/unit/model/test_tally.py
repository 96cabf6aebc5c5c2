"""Every frame is counted exactly once, whatever happened to it in whatever order."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from tests.unit.model.histories import WANT, histories
from tests.unit.model.plain_count import plain_count

from rigd.model import events as ev
from rigd.model.reduce import fold
from rigd.model.state import FrameState, RollState
from rigd.model.tally import Tally, tally, tally_strip, total
from rigd.model.values import Frame, Roll, Take, Verdict
from rigd.model.words import Colour, Film, Purpose, Quality, Stage, Tone


def roll_of(*frames: FrameState, takes: tuple[Take, ...] = (), expected: tuple[int, int] | None = None) -> RollState:
    roll = Roll("r-1", "Pier 7", "Pier_7", "135", Tone.NEGATIVE, Colour.MONO, expected)
    return RollState(roll, frames={f.frame.frame_id: f for f in frames}, takes={t.take_id: t for t in takes})


def frame(number: int, **fields: object) -> FrameState:
    return FrameState(Frame(f"f-{number}", "r-1", "s-1", number), **fields)  # type: ignore[arg-type]


def take(name: str, stage: Stage, quality: Quality = Quality.GOOD) -> Take:
    verdict = Verdict(Film.PICTURE, quality, "") if stage is Stage.JUDGED else None
    return Take(name, "f-1", Purpose.WHOLE, 1, WANT, stage, verdict=verdict)


@pytest.mark.parametrize(
    ("fields", "kind"),
    [
        ({}, "open"),
        ({"skipped": True}, "skipped"),
        ({"keeper": ("t-1",), "film": Film.PICTURE}, "pictures"),
        ({"keeper": ("t-1",), "skipped": True}, "pictures"),
        ({"film": Film.PICTURE}, "open"),
        ({"film": Film.UNEXPOSED}, "unexposed"),
        ({"film": Film.UNEXPOSED, "keeper": ("t-1",)}, "unexposed"),
        ({"film": Film.FOGGED, "skipped": True}, "fogged"),
        ({"film": Film.NO_FILM}, "open"),
    ],
)
def test_a_frame_is_of_one_kind(fields: dict[str, object], kind: str) -> None:
    counts = tally(roll_of(frame(1, **fields)))
    assert {k: getattr(counts, k) for k in ("pictures", "unexposed", "fogged", "skipped", "open")} == {
        "pictures": 0, "unexposed": 0, "fogged": 0, "skipped": 0, "open": 0, kind: 1,
    }  # fmt: skip


@pytest.mark.parametrize(("expected", "missing"), [((5, 6), 3), ((2, 2), 0), ((1, 1), 0), (None, 2)])
def test_missing_is_what_nobody_accounted_for(expected: tuple[int, int] | None, missing: int) -> None:
    frames = (frame(1, keeper=("t",)), frame(2, film=Film.UNEXPOSED), frame(3, skipped=True), frame(4))
    assert tally(roll_of(*frames, expected=expected)).missing == missing


def test_takes_count_only_where_a_file_is_left() -> None:
    takes = tuple(take(f"t-{stage}", stage) for stage in Stage)
    counts = tally(roll_of(frame(1, takes=tuple(t.take_id for t in takes)), takes=takes))
    assert (counts.takes, counts.retaken) == (2, 1)


@pytest.mark.parametrize("quality", list(Quality))
def test_a_keeper_that_is_not_good_is_suspect(quality: Quality) -> None:
    counts = tally(roll_of(frame(1, keeper=("t-1",)), takes=(take("t-1", Stage.JUDGED, quality),)))
    assert counts.suspect == (quality is not Quality.GOOD)


@settings(deadline=None)  # a busy machine is no fault
@given(histories)
def test_each_frame_is_counted_exactly_once(events: list[ev.Committed]) -> None:
    state = fold(events)
    said = [c.event for c in events]
    assert {roll_id: tally(roll) for roll_id, roll in state.rolls.items()} == plain_count(said)
    for roll in state.rolls.values():
        counts = tally(roll)
        kinds = counts.pictures + counts.unexposed + counts.fogged + counts.skipped + counts.open
        assert kinds == len(roll.frames)
        strips = [tally_strip(roll, strip_id) for strip_id in roll.strips]
        assert sum(strip.counted for strip in strips) == counts.counted
        assert sum(strip.suspect for strip in strips) == counts.suspect
    assert sum(len(roll.frames) for roll in state.rolls.values()) == state.frame_count


@settings(deadline=None)
@given(histories)
def test_everything_is_in_one_place(events: list[ev.Committed]) -> None:
    """Whatever was corrected: each strip, frame and take is of one roll, a frame's strip and takes are of its own."""
    state = fold(events)
    rolls = state.rolls.values()
    for things in ([i for r in rolls for i in r.strips], [i for r in rolls for i in r.frames]):
        assert len(things) == len(set(things))
    takes = [*state.loose, *(i for r in rolls for i in r.takes)]
    assert len(takes) == len(set(takes)) == state.take_count
    for roll in rolls:
        for frame in roll.frames.values():
            assert frame.frame.roll_id == roll.roll.roll_id
            assert frame.frame.strip_id in roll.strips
            assert {roll.takes[t].frame_id for t in frame.takes} <= {frame.frame.frame_id}
        assert all(strip.roll_id == roll.roll.roll_id for strip in roll.strips.values())
        assert all(t.roll_id == roll.roll.roll_id for t in roll.takes.values() if t.frame_id is None)
        assert all(t.frame_id in roll.frames for t in roll.takes.values() if t.frame_id is not None)


def test_a_sum_knows_what_is_expected_where_something_is() -> None:
    known, unknown = tally(roll_of(frame(1), expected=(4, 5))), tally(roll_of(frame(1, keeper=("t",))))
    assert total([known, unknown]).expected == 4
    assert total([unknown, unknown]) == Tally(None, 2, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    assert total([]).expected is None


DENSE = (take("t-1", Stage.JUDGED, Quality.EXCEEDS), take("t-2", Stage.JUDGED, Quality.GOOD))


@pytest.mark.parametrize(
    ("keeper", "retaken", "suspect"), [(("t-1", "t-2"), 0, 0), (("t-1",), 1, 1), (("t-2",), 1, 0), ((), 1, 0)]
)
def test_one_keeper_of_two_exposures_is_no_retake(keeper: tuple[str, ...], retaken: int, suspect: int) -> None:
    counts = tally(roll_of(frame(1, takes=("t-1", "t-2"), keeper=keeper), takes=DENSE))
    assert (counts.retaken, counts.suspect) == (retaken, suspect)


@pytest.mark.parametrize(
    ("fields", "suspect"), [({}, 0), ({"doubt": "drift"}, 1), ({"doubt": "drift", "accepted": True}, 0)]
)
def test_a_doubt_makes_suspect_until_somebody_accepts(fields: dict[str, object], suspect: int) -> None:
    good = take("t-1", Stage.JUDGED, Quality.GOOD)
    assert tally(roll_of(frame(1, keeper=("t-1",), **fields), takes=(good,))).suspect == suspect
