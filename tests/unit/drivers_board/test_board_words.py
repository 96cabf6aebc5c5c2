"""The meaning of the board's lines."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.board import words
from rigd.drivers.board.codec import Line
from rigd.drivers.board.refusals import check_rest, error_of
from rigd.drivers.board.words import event_of, reply_of
from rigd.errors import BoardError, BoardRefused, Busy, FilmStuck, MotionStopped, RigdError


@pytest.mark.parametrize(
    ("told", "meant"),
    [
        ("BOOT why=power boot=17", words.Boot("power", 17)),
        ("REST at=-4960 why=done", words.Rest(-4960, "done")),
        ("REST at=3012 why=end edge=2801", words.Rest(3012, "end", 2801)),
        ("FILM in at=0", words.FilmMoved(True, 0)),
        ("FILM out at=77", words.FilmMoved(False, 77)),
        ("PEDAL 2 down ms=123456", words.PedalEdge(2, True, 123456)),
        ("PEDAL 1 up ms=9", words.PedalEdge(1, False, 9)),
        ("STOP by=input at=5", words.Stopped("input", 5)),
        ("LAMP warm", words.LampTold(True)),
        ("LAMP off why=idle", words.LampTold(False)),
        ("WEATHER fine", words.Untold("WEATHER fine")),
        ("REST at=x why=done", words.Untold("REST at=x why=done")),
        ("REST", words.Untold("REST")),
        ("", words.Untold("")),
    ],
)
def test_events(told: str, meant: words.Event) -> None:
    assert event_of(Line("#", 1, told)) == meant


@given(st.text(st.sampled_from("ABCDEFILMNOPRST =-0123456789"), max_size=40))
def test_no_event_breaks_the_driver(told: str) -> None:
    event_of(Line("#", 1, told))
    reply_of(Line("<", 1, told))


def test_an_answer_and_its_pairs() -> None:
    told = reply_of(Line("<", 7, "HELLO film-advancer proto=1 boot=3"))
    assert told == words.Answer(7, "HELLO", ("film-advancer",), {"proto": "1", "boot": "3"})
    assert isinstance(told, words.Answer)
    assert told.number_of("boot") == 3
    with pytest.raises(ValueError, match="invalid literal"):
        told.number_of("gear")


@pytest.mark.parametrize(
    ("code", "kind"),
    [
        ("STOPPED", MotionStopped),
        ("HELD", MotionStopped),
        ("MOVING", Busy),
        ("FAULT", FilmStuck),
        ("LIMIT", BoardRefused),
        ("UNKNOWN", BoardRefused),
        ("ARGUMENT", BoardRefused),
    ],
)
def test_each_refusal_says_what_to_do(code: str, kind: type[RigdError]) -> None:
    error = error_of(words.Refusal(1, code, {}), "MOVE 1")
    assert type(error) is kind
    assert error.what
    assert error.remedy


@pytest.mark.parametrize(("why", "kind"), [("stop", MotionStopped), ("stall", FilmStuck), ("fault", FilmStuck)])
def test_a_motion_that_went_wrong_raises(why: str, kind: type[BoardError]) -> None:
    with pytest.raises(kind):
        check_rest(words.Rest(0, why))


@pytest.mark.parametrize("why", ["done", "seen", "end", "halt", "silent", "time"])
def test_a_motion_that_only_ended_elsewhere_does_not(why: str) -> None:
    check_rest(words.Rest(0, why))
