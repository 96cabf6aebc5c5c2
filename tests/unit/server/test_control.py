"""Who works the rig. No outside source: the rules are the project's own."""

from __future__ import annotations

from datetime import UTC, datetime

from rigd.server.control import Control
from rigd.server.sessions import Role, Session

NOW = datetime(2031, 3, 4, tzinfo=UTC)


def session(number: int, name: str, role: Role = Role.OPERATOR) -> Session:
    return Session(number, role, name, NOW, NOW)


PHONE, TABLET, HOST = session(1, "phone"), session(2, "tablet"), session(3, "page", Role.HOST)
COMMAND = session(4, "command line", Role.HOST)


def test_the_first_command_takes_it_and_another_hand_is_refused() -> None:
    control = Control()
    control.join(PHONE)
    control.join(TABLET)
    assert control.holder is None
    assert control.refusal(PHONE) is None
    assert control.refusal(PHONE) is None
    refused = control.refusal(TABLET)
    assert refused is not None
    assert (refused.status, refused.code, refused.title) == (409, "control", "phone works the rig.")
    assert "Take control" in refused.remedy


def test_it_is_taken_over_at_once_and_both_pages_hear_of_it() -> None:
    control = Control()
    first, second = control.join(PHONE), control.join(TABLET)
    control.take(PHONE)
    for seat in (first, second):
        seat.news.clear()
    control.take(TABLET)
    assert first.news.is_set()
    assert second.news.is_set()
    assert control.refusal(PHONE) is not None
    assert control.refusal(TABLET) is None


def test_who_goes_away_holds_nothing_and_has_it_again_if_nobody_took_it() -> None:
    control = Control()
    seat = control.join(PHONE)
    control.join(TABLET)
    control.take(PHONE)
    control.leave(seat)
    assert control.holder is None
    control.join(PHONE)
    assert control.holder is not None
    assert control.holder.name == "phone"


def test_who_comes_back_too_late_sees_who_has_it() -> None:
    control = Control()
    seat = control.join(PHONE)
    control.join(TABLET)
    control.take(PHONE)
    control.leave(seat)
    assert control.refusal(TABLET) is None
    control.join(PHONE)
    assert control.refusal(PHONE) is not None


def test_a_command_without_a_page_takes_nothing_with_it() -> None:
    control = Control()
    control.join(PHONE)
    assert control.refusal(COMMAND) is None
    assert control.holder is None
    control.take(PHONE)
    assert control.refusal(COMMAND) is not None


def test_it_is_given_up_by_its_holder_or_freed_by_the_host() -> None:
    control = Control()
    control.join(PHONE)
    control.take(PHONE)
    control.give_up(TABLET)
    assert control.holder is not None, "an operator cannot free what another holds: he takes it over, in sight of all"
    control.give_up(PHONE)
    assert control.holder is None
    control.take(PHONE)
    control.give_up(HOST)
    assert control.holder is None


def test_a_session_that_ends_holds_nothing_and_its_line_is_told() -> None:
    control = Control()
    seat, other = control.join(PHONE), control.join(TABLET)
    control.take(PHONE)
    other.news.clear()
    control.ended(PHONE.session_id)
    assert seat.ended
    assert not other.ended
    assert other.news.is_set()
    assert control.holder is None


def test_a_new_name_is_shown() -> None:
    control = Control()
    seat = control.join(PHONE)
    control.take(PHONE)
    seat.news.clear()
    control.renamed(PHONE.session_id, "red phone")
    assert control.holder is not None
    assert control.holder.name == "red phone"
    assert seat.news.is_set()
