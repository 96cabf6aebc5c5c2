"""Edge marks as labels that can be counted, and the order of frames on the film."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.errors import InputError
from rigd.model.edges import direction, order_of, series
from rigd.model.order import in_order, numbers, places_of
from rigd.model.state import FrameState, RollState
from rigd.model.values import Frame, Roll, Strip
from rigd.model.words import Colour, Tone

ROLL = Roll("r-1", "Pier 7", "Pier_7", "135", Tone.NEGATIVE, Colour.MONO, cuts=(2, 3))


def roll_of(*strips: Strip, frames: dict[str, tuple[str, int]]) -> RollState:
    placed = {i: FrameState(Frame(i, "r-1", strip, place)) for i, (strip, place) in frames.items()}
    return RollState(ROLL, strips={s.strip_id: s for s in strips}, frames=placed)


# The marks of a 135 film before and after its first frame: common practice, no source.
@pytest.mark.parametrize(
    ("first", "marks"),
    [("00", ("00", "0", "1")), ("00A", ("00A", "0A", "1A")), ("12A", ("12A", "13A", "14A")), ("9", ("9", "10", "11"))],
)
def test_marks_are_counted_on(first: str, marks: tuple[str, ...]) -> None:
    assert series(first, 3) == marks
    assert direction(marks) == 1
    assert direction(marks[::-1]) == -1


@pytest.mark.parametrize("mark", ["", "KN", "12B", "-1", "1.5", "1000"])
def test_a_mark_that_cannot_be_counted_is_a_label_all_the_same(mark: str) -> None:
    assert order_of(mark) is None
    with pytest.raises(InputError, match="cannot be counted"):
        series(mark, 2)


@pytest.mark.parametrize("marks", [(), ("3",), ("3", "3"), ("3", "5", "4"), ("KN", "3")])
def test_marks_that_do_not_tell_a_direction(marks: tuple[str, ...]) -> None:
    assert direction(marks) is None


@given(st.integers(-1, 200), st.booleans(), st.integers(2, 40))
def test_a_series_rises_by_one(start: int, half: bool, count: int) -> None:
    first = ("00" if start < 0 else str(start)) + ("A" if half else "")
    orders = [order_of(mark) for mark in series(first, count)]
    assert orders == [start + (0.5 if half else 0.0) + n for n in range(count)]


def test_strips_lie_by_number_and_a_turned_one_runs_backwards() -> None:
    second, first = Strip("s-1", "r-1", 2, 3, turn=180), Strip("s-2", "r-1", 1, None)
    roll = roll_of(second, first, frames={"a": ("s-1", 1), "b": ("s-1", 3), "c": ("s-2", 1), "d": ("s-2", 2)})
    assert [f.frame.frame_id for f in in_order(roll)] == ["c", "d", "b", "a"]
    assert numbers(roll) == {"c": 1, "d": 2, "b": 3, "a": 4}
    assert (places_of(roll, first), places_of(roll, second)) == (2, 3)
