"""What a format suggests, what can be planned, and what is told about pictures."""

from __future__ import annotations

import pytest
from msgspec import UNSET

from rigd.errors import InputError
from rigd.model.formats import FORMATS
from rigd.model.metadata import AboutChanges, about_frame, changed_about, check_dates
from rigd.model.plan import RollChanges, changed_roll, cut, planned, suggested
from rigd.model.state import FrameState
from rigd.model.values import About, Frame, Job, Roll
from rigd.model.words import BaseType, Colour, Tone

ROLL = Roll("r-0001", "North quay 3", "North_quay_3", "135", Tone.NEGATIVE, Colour.MONO, stock="HP", where="box 2")


# Counts of the formats: two tables that agree, for 120; 135: 24 or 36, in truth up to three more (common practice).
@pytest.mark.parametrize(
    ("name", "exposures", "expected", "places"),
    [
        ("135", 36, (36, 39), 6),
        ("135", 24, (24, 27), 6),
        ("135", None, None, 6),
        ("135-half", 72, (72, 78), 12),
        ("120-6x4.5", None, (15, 16), 4),
        ("120-6x6", None, (12, 13), 4),
        ("120-6x7", None, (10, 10), 3),
        ("120-6x8", None, (9, 9), 3),
        ("120-6x9", None, (8, 8), 2),
        ("120-6x12", None, (6, 6), 2),
        ("120-6x17", None, (4, 4), 1),
        ("mount", None, None, None),
        ("sheet-4x5", 25, (25, 25), None),
    ],
)
def test_what_a_format_suggests(
    name: str, exposures: int | None, expected: tuple[int, int] | None, places: int | None
) -> None:
    found = suggested(name, exposures)
    assert (found.expected, found.strip_places) == (expected, places)
    assert found.why.endswith((".", "which."))
    if found.cuts:
        assert expected is not None
        assert sum(found.cuts) == expected[0]


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_suggests_something_that_can_be_planned(name: str) -> None:
    changes = RollChanges(
        label="Q", film_format=name, exposures=FORMATS[name].counts[-1] if FORMATS[name].counts else 9
    )
    assert planned(changes, "r-1", "Q", BaseType.SAFETY).expected is not None


@pytest.mark.parametrize(
    ("frames", "places", "cuts"), [(36, 6, (6,) * 6), (38, 6, (6,) * 6 + (2,)), (12, 4, (4, 4, 4)), (3, 4, (3,))]
)
def test_cutting(frames: int, places: int, cuts: tuple[int, ...]) -> None:
    assert cut(frames, places) == cuts


def test_a_new_roll_has_the_usual_where_nothing_is_said() -> None:
    roll = planned(RollChanges(label=" Q 1 ", film_format="135", exposures=36), "r-1", "Q_1", BaseType.SAFETY)
    assert roll == Roll("r-1", "Q 1", "Q_1", "135", Tone.NEGATIVE, Colour.MONO, (36, 39), 6, BaseType.SAFETY)


def test_words_of_the_model_stay_words_of_the_model() -> None:
    roll = planned(RollChanges(label="Q", film_format="mount", tone=Tone.POSITIVE, colour=Colour.COLOUR), "r", "Q",
                   BaseType.SAFETY)  # fmt: skip
    assert (type(roll.tone), type(roll.colour), type(roll.base_type)) == (Tone, Colour, BaseType)


def test_what_is_said_wins_over_what_is_suggested() -> None:
    changes = RollChanges(exposures=36, expected=(20, 20), strip_places=5)
    changed = changed_roll(ROLL, changes)
    assert (changed.expected, changed.strip_places) == ((20, 20), 5)


def test_words_of_a_list_stay_what_they_are() -> None:
    """Whoever asks whether a film is nitrate asks for the word itself, not for its letters."""
    changed = changed_roll(ROLL, RollChanges(base_type=BaseType.NITRATE, tone=Tone.POSITIVE, stock=" HP "))
    assert changed.base_type is BaseType.NITRATE
    assert changed.tone is Tone.POSITIVE
    assert changed.stock == "HP"


def test_only_what_is_said_changes() -> None:
    assert changed_roll(ROLL, RollChanges()) == ROLL
    changed = changed_roll(ROLL, RollChanges(expected=None, where="shelf 4", about=AboutChanges(place="Quay")))
    assert (changed.where, changed.stock, changed.about) == ("shelf 4", "HP", About(place="Quay"))


@pytest.mark.parametrize(
    "changes",
    [
        RollChanges(label=" "),
        RollChanges(film_format="136"),
        RollChanges(expected=(9, 3)),
        RollChanges(strip_places=0),
        RollChanges(cuts=(6, 0)),
        RollChanges(expected=(5, 5), cuts=(3, 3)),
        RollChanges(exposures=0),
        RollChanges(about=AboutChanges(dates="1957-13")),
        RollChanges(about=AboutChanges(title="a\x07")),
        RollChanges(about=AboutChanges(caption="x" * 2001)),
    ],
)
def test_what_cannot_be_is_refused_with_a_remedy(changes: RollChanges) -> None:
    with pytest.raises(InputError) as refused:
        changed_roll(ROLL, changes)
    assert refused.value.remedy


# ISO 8601-1: reduced precision and intervals; ISO 8601-2: `~` about, `?` in doubt.
@pytest.mark.parametrize("text", ["1957", "1957-05", "1957-05-31", "1957~", "1957-05?", "1957/1958-02", "1957/1957"])
def test_dates_that_are(text: str) -> None:
    check_dates(text)


@pytest.mark.parametrize("text", ["57", "1957-5", "1957-02-30", "May 1957", "1958/1957", "1957/1958/1959", "1957/", ""])
def test_dates_that_are_none(text: str) -> None:
    with pytest.raises(InputError):
        check_dates(text)


def test_a_frame_inherits_from_its_roll_and_that_from_the_job() -> None:
    job = Job("j", "survey", about=About(rights="Port of Vessling", place="Vessling", photographer="Survey office"))
    roll = changed_roll(ROLL, RollChanges(about=AboutChanges(place="North quay", photographer="")))
    frame = FrameState(Frame("f", "r-0001", "s", 1), about=About(title="Crane", stock="Ortho"))
    assert about_frame(job, roll, frame) == About(
        title="Crane", place="North quay", photographer="", rights="Port of Vessling", stock="Ortho"
    )
    assert about_frame(None, ROLL, FrameState(Frame("f", "r", "s", 1))) == About(stock="HP")


def test_a_word_can_be_taken_back() -> None:
    told = changed_about(About(title="a", keywords=("b",)), AboutChanges(title=None, keywords=("c", " c ", "")))
    assert told == About(keywords=("c",))
    assert changed_about(About(title="a"), UNSET) == About(title="a")
