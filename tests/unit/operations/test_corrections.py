"""Corrections over a range: as events, never on a file; each can be taken back; every frame stays counted once."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.unit.operations.both_ways import Job
from tests.unit.operations.taken import files, strip_of

from rigd.errors import InputError, NotFound
from rigd.model.events_later import EdgesRead, StripsChanged
from rigd.model.order import in_order
from rigd.model.plan import RollChanges
from rigd.model.state import RollState, State
from rigd.model.tally import tally
from rigd.model.words import Emulsion, Tone
from rigd.operations import correcting, plans
from rigd.operations.correcting import ByEdges, StripBegan, StripsAre
from rigd.operations.verb import Nothing


async def two_rolls(job: Job) -> None:
    """HO 12 with strips 1 to 3 of two frames, HO 13 with strip 1 of two."""
    for label in ("HO 12", "HO 13"):
        await job.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label=label, film_format="135")))
    for label, strips in (("HO 12", 3), ("HO 13", 1)):
        await job.verbs.open_roll(roll_id=label)
        roll = job.desk.state.roll
        assert roll is not None
        for number in range(1, strips + 1):
            await strip_of(job.desk, roll, number, 2)


def roll_named(state: State, label: str) -> RollState:
    return next(r for r in state.rolls.values() if r.roll.label == label)


def numbers(state: State, label: str) -> dict[int, int]:
    """Frames by the number of their strip."""
    roll = roll_named(state, label)
    return {s.number: sum(f.frame.strip_id == i for f in roll.frames.values()) for i, s in roll.strips.items()}


def same_truth(one: State, other: State) -> bool:
    """Equal but for what counts events and remembers where the film lay."""
    gone = {"seq": 0, "strip_id": None, "next_place": None, "roll_id": None}
    return replace(one, **gone) == replace(other, **gone)


async def test_strips_from_one_on_are_of_another_roll(open_job: Job) -> None:
    await two_rolls(open_job)
    before, on_disk = open_job.desk.state, files(open_job.desk.root)
    done = await open_job.verbs.do(correcting.CORRECT, StripsAre("2-", roll="HO 12", to="HO 13", why="other film"))
    assert [s.number for s in done.strips] == [2, 3], "after the last strip of the roll they came to"
    state = open_job.desk.state
    assert numbers(state, "HO 12") == {1: 2}
    assert numbers(state, "HO 13") == {1: 2, 2: 2, 3: 2}
    assert [tally(roll_named(state, label)).pictures for label in ("HO 12", "HO 13")] == [2, 6]
    assert files(open_job.desk.root) == on_disk, "no file is renamed"
    await open_job.verbs.do(correcting.UNDO, Nothing())
    assert same_truth(open_job.desk.state, before)
    await open_job.verbs.do(correcting.UNDO, Nothing())
    assert same_truth(open_job.desk.state, state), "taken back twice, it holds again"


async def test_side_turn_and_kind_of_a_range(open_job: Job) -> None:
    await two_rolls(open_job)
    order = [f.frame.frame_id for f in in_order(roll_named(open_job.desk.state, "HO 12"))]
    said = StripsAre("2-3", roll="HO 12", flip=True, turn=True, tone=Tone.POSITIVE)
    await open_job.verbs.do(correcting.CORRECT, said)
    roll = roll_named(open_job.desk.state, "HO 12")
    told = [(s.number, s.emulsion, s.turn, s.tone) for s in roll.strips.values()]
    other = (Emulsion.UP, 180, Tone.POSITIVE)
    assert told == [(1, Emulsion.DOWN, 0, None), (2, *other), (3, *other)]
    a, b, c, d, e, f = order
    assert [f.frame.frame_id for f in in_order(roll)] == [a, b, d, c, f, e]


async def test_a_strip_that_nobody_said_was_laid(open_job: Job) -> None:
    await two_rolls(open_job)
    before = open_job.desk.state
    done = await open_job.verbs.do(correcting.BEGAN, StripBegan(1, 2, roll="HO 12"))
    state = open_job.desk.state
    assert numbers(state, "HO 12") == {1: 1, 2: 1, 3: 2, 4: 2}
    assert [(f.frame_id, f.place) for f in done.frames] == [("f-00002", 1)]
    assert roll_named(state, "HO 12").strips["s-0001"].places == 1
    await open_job.verbs.do(correcting.UNDO, Nothing())
    now = roll_named(open_job.desk.state, "HO 12")
    assert now.frames == roll_named(before, "HO 12").frames
    known = roll_named(before, "HO 12").strips
    assert {i: s for i, s in now.strips.items() if i in known} == known


async def test_the_rest_of_a_strip_was_of_another_roll(open_job: Job) -> None:
    await two_rolls(open_job)
    await open_job.verbs.do(correcting.BEGAN, StripBegan(3, 2, roll="HO 12", to="HO 13"))
    state = open_job.desk.state
    assert numbers(state, "HO 12") == {1: 2, 2: 2, 3: 1}
    assert numbers(state, "HO 13") == {1: 2, 2: 1}
    assert sum(tally(r).pictures for r in state.rolls.values()) == 8


async def test_strips_get_their_numbers_from_their_edges(open_job: Job) -> None:
    await two_rolls(open_job)
    marks = {"f-00001": "5", "f-00002": "6", "f-00003": "1", "f-00004": "2", "f-00005": "3", "f-00006": "4"}
    await open_job.desk.hub.append(EdgesRead(marks, "page"))
    await open_job.verbs.do(correcting.BY_EDGES, ByEdges("HO 12"))
    ordered = in_order(roll_named(open_job.desk.state, "HO 12"))
    assert [f.frame.mark for f in ordered] == ["1", "2", "3", "4", "5", "6"]
    with pytest.raises(InputError, match="already"):
        await open_job.verbs.do(correcting.BY_EDGES, ByEdges("HO 12"))
    with pytest.raises(InputError, match="no edge mark"):
        await open_job.verbs.do(correcting.BY_EDGES, ByEdges("HO 13"))


async def test_the_film_goes_on_at_the_right_place_when_frames_came_to_its_strip(open_job: Job) -> None:
    await open_job.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="HO 12", film_format="135")))
    await open_job.verbs.open_roll(roll_id="HO 12")
    roll = open_job.desk.state.roll
    assert roll is not None
    await strip_of(open_job.desk, roll, 1, 3, places=6)
    assert open_job.desk.state.target == "s-0001#4"
    await open_job.verbs.do(correcting.BEGAN, StripBegan(1, 3))
    assert open_job.desk.state.target != "s-0001#4"


@pytest.mark.parametrize(
    ("args", "error"),
    [
        (StripsAre("9", roll="HO 12", flip=True), NotFound),
        (StripsAre("2-", roll="HO 12"), InputError),
        (StripsAre("two", roll="HO 12", flip=True), InputError),
        (StripsAre("1", roll="HO 12", first=2), InputError),
        (StripsAre("1", roll="HO 12", to="nowhere"), NotFound),
        (StripsAre("1", roll="HO 12", places=0), InputError),
        (StripsAre("1", roll="HO 12", to="HO 13", first=1), InputError),
        (StripsAre("7-9", roll="HO 12", turn=True), NotFound),
    ],
)
async def test_what_cannot_be_is_refused_and_changes_nothing(
    open_job: Job, args: StripsAre, error: type[Exception]
) -> None:
    await two_rolls(open_job)
    before = open_job.desk.state
    with pytest.raises(error):
        await open_job.verbs.do(correcting.CORRECT, args)
    assert open_job.desk.state == before


async def test_a_correction_is_not_taken_back_over_a_later_change(open_job: Job) -> None:
    await two_rolls(open_job)
    with pytest.raises(NotFound, match="no correction"):
        await open_job.verbs.do(correcting.UNDO, Nothing())
    done = await open_job.verbs.do(correcting.CORRECT, StripsAre("2", roll="HO 12", flip=True))
    later = replace(done.strips[0], sleeve="B")
    await open_job.desk.hub.append(StripsChanged((later,), why="by another hand"))
    with pytest.raises(InputError, match="cannot be taken back"):
        await open_job.verbs.do(correcting.UNDO, Nothing())
