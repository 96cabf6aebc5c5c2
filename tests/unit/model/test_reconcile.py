"""Does it come out even? Sentences, and what is off with how to settle it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from tests.unit.model.histories import WANT

from rigd.model.pace import BY_HAND_S, Done, Estimate, Left, cadence, estimate, time_words
from rigd.model.reconcile import Account, account_job, account_roll, account_strip
from rigd.model.state import FrameState, RollState
from rigd.model.tally import Tally
from rigd.model.values import Frame, Roll, Strip, Take
from rigd.model.words import Colour, Film, Purpose, Stage, Tone

ROLL = Roll("r-1", "HO 12", "HO_12", "120-6x6", Tone.NEGATIVE, Colour.MONO, (12, 12), 4, cuts=(4, 4, 4))


def roll_of(frames: list[FrameState], plan: Roll = ROLL, **strips: object) -> RollState:
    used = {f.frame.strip_id for f in frames}
    laid = {i: Strip(i, "r-1", int(i[2:]), 4, **strips) for i in sorted(used)}  # type: ignore[arg-type]
    return RollState(plan, strips=laid, frames={f.frame.frame_id: f for f in frames})


def whole() -> list[FrameState]:
    """Twelve kept pictures on three strips of four."""
    return [
        FrameState(Frame(f"f-{s}{p}", "r-1", f"s-{s}", p), keeper=(f"t-{s}{p}",), film=Film.PICTURE)
        for s in (1, 2, 3)
        for p in (1, 2, 3, 4)
    ]


def codes(account: Account) -> list[str]:
    return [finding.code for finding in account.findings]


def test_eleven_pictures_and_a_blank_are_twelve_as_the_sleeve_says() -> None:
    frames = whole()
    frames[6] = replace(frames[6], film=Film.UNEXPOSED)
    found = account_roll(roll_of(frames))
    assert found == Account("HO 12", "11 pictures + 1 blank = 12, as the sleeve says.", True)
    strip = account_strip(roll_of(frames), Strip("s-2", "r-1", 2, 4))
    assert strip == Account("Strip 2", "3 pictures + 1 blank = 4, as the strip has.", True)


def test_a_range_is_met_anywhere_in_it() -> None:
    plan = replace(ROLL, expected=(10, 13), cuts=())
    assert account_roll(roll_of(whole(), plan)).sentence == "12 pictures = 12, as the sleeve says (10 to 13)."


def test_what_is_missing_is_said_where() -> None:
    frames = [f for f in whole() if f.frame.frame_id not in ("f-12", "f-31", "f-32", "f-33", "f-34")]
    found = account_roll(roll_of(frames))
    assert found.sentence == "7 pictures = 7, but the sleeve says 12."
    assert codes(found) == ["missing", "strip-missing", "gap"]
    assert "Strip 3 was not fed" in found.findings[1].what
    assert "nothing at place 2" in found.findings[2].what
    assert all(finding.remedy for finding in found.findings)


def test_frames_too_many_are_said_too() -> None:
    extra = FrameState(Frame("f-35", "r-1", "s-3", 5), keeper=("t",), film=Film.PICTURE)
    found = account_roll(roll_of([*whole(), extra]))
    assert found.sentence == "13 pictures = 13, but the sleeve says 12."
    assert codes(found) == ["too-many", "beyond"]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"again": "soft"}, "again"), ({"doubt": "drift"}, "suspect"), ({"keeper": (), "film": None}, "open"),
        ({"keeper": (), "film": None, "skipped": True}, "skipped"),
    ],
)  # fmt: skip
def test_frames_that_wait_for_somebody_are_named_once(changes: dict[str, object], code: str) -> None:
    frames = whole()
    frames[0] = replace(frames[0], **changes)
    found = account_roll(roll_of(frames))
    (waiting,) = [f for f in found.findings if f.frames]
    assert (waiting.code, waiting.frames, found.even) == (code, ("f-11",), False)
    assert "strip 1 place 1" in waiting.what


def marked(*marks: str) -> list[FrameState]:
    return [replace(f, frame=replace(f.frame, mark=mark)) for f, mark in zip(whole(), marks, strict=False)]


@pytest.mark.parametrize(
    ("marks", "code"),
    [(("1", "2", "2", "3"), "mark-twice"), (("1", "2", "4", "5"), "mark-gap"), (("4", "3", "2", "1"), "backwards")],
)
def test_edge_marks_that_do_not_fit(marks: tuple[str, ...], code: str) -> None:
    plan = replace(ROLL, expected=(4, 4), cuts=(4,))
    assert codes(account_roll(roll_of(marked(*marks), plan))) == [code]


def test_a_turned_strip_with_falling_places_is_right() -> None:
    plan = replace(ROLL, expected=(4, 4), cuts=(4,))
    assert account_roll(roll_of(marked("4", "3", "2", "1"), plan, turn=180)).even


def test_two_strips_of_one_number_and_two_frames_at_one_place() -> None:
    frames = [replace(f, frame=replace(f.frame, place=1)) if f.frame.frame_id == "f-12" else f for f in whole()]
    roll = roll_of(frames)
    roll = replace(roll, strips={**roll.strips, "s-2": replace(roll.strips["s-2"], number=1)})
    assert set(codes(account_roll(roll))) == {"strip-twice", "strip-missing", "gap", "twice"}


def test_an_unknown_count_cannot_come_out_even() -> None:
    found = account_roll(roll_of(whole(), replace(ROLL, expected=None, cuts=())))
    assert (found.even, codes(found)) == (False, ["unknown"])
    assert found.sentence.startswith("12 pictures = 12, nobody has said")


def test_files_that_changed_are_no_even_account() -> None:
    take = Take("t-11", "f-11", Purpose.WHOLE, 1, WANT, Stage.JUDGED, path="a", lost_why="other checksum")
    found = account_roll(replace(roll_of(whole()), takes={"t-11": take}))
    assert codes(found) == ["damaged"]


def test_the_job_as_a_whole() -> None:
    even = Tally(36, 33, 2, 1, 0, 0, 0, 4, 0, 40)
    assert account_job("survey", 3, 3, 0, even) == Account(
        "survey", "33 pictures + 2 blanks + 1 fogged = 36, as the sleeves say.", True
    )
    open_ = account_job("survey", 3, 2, 1, replace(even, missing=3, suspect=1, again=2, skipped=1, open=1))
    assert codes(open_) == ["rolls-open", "unknown", "missing", "again", "suspect", "skipped", "open"]


def test_the_pace_of_each_format_and_of_common_practice() -> None:
    assert estimate([], [Left("135", 36), Left("mount", 0, 1)]) == Estimate(36, 1, 36 * BY_HAND_S, BY_HAND_S, 0)
    done = [Done("135", 60.0, 12), Done("120-6x6", 120.0, 12)]
    found = estimate(done, [Left("135", 10), Left("120-6x6", 10), Left("mount", 10)])
    # 5 s and 10 s a frame; of mounts nothing is known: the mean of all, 7.5 s.
    assert (found.frames, found.seconds, found.timed) == (30, 50 + 100 + 75, 24)
    assert estimate(done, []).frames == 0
    assert cadence(30.0, 3) is None
    assert cadence(30.0, 4) == 7.5


@pytest.mark.parametrize(("seconds", "words"), [(4, "4 s"), (89, "89 s"), (720, "12 min"), (12000, "3 h 20 min")])
def test_time_in_words(seconds: float, words: str) -> None:
    assert time_words(seconds) == words
