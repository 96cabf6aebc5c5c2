"""Which files are the shot's, on made-up times: the trigger is at second 100, the exposure takes 2 s."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.camera.collector import Collector, Key, key
from rigd.drivers.camera.config import Allowances
from rigd.model.values import CardFile

ALLOW = Allowances()
DATE = datetime(2026, 11, 24, 12, 0, 0)


def file(number: int, date: datetime | None = DATE) -> CardFile:
    return CardFile("/card", f"A_{number:04}.DNG", 10, date.isoformat() if date else None)


def shot(expect: int = 1, before: frozenset[Key] = frozenset(), exposure_s: float | None = 2.0) -> Collector:
    return Collector(expect, exposure_s, 100.0, DATE, before, ALLOW)


def test_file_and_completion_end_the_shot_at_once() -> None:
    it = shot()
    it.arrived(file(1), 102.1)
    assert not it.done(102.1)
    it.completed(102.2)
    assert it.done(102.2)
    assert it.files == (file(1),)
    assert it.strays == ()


def test_completion_alone_proves_nothing() -> None:
    it = shot()
    it.completed(102.2)
    assert not it.done(110.0)


def test_without_completion_quiet_ends_the_shot() -> None:
    it = shot()
    it.arrived(file(1), 102.1)
    assert not it.done(102.1 + ALLOW.quiet_s - 0.01)
    assert it.done(102.1 + ALLOW.quiet_s + 0.01)


def test_two_files_are_waited_for_whatever_the_order_of_events() -> None:
    it = shot(expect=2)
    it.arrived(file(1), 102.1)
    it.completed(102.2)
    assert not it.done(103.0)
    it.arrived(file(2), 103.1)
    assert it.done(103.1)
    assert it.files == (file(1), file(2))


def test_a_file_before_the_exposure_can_have_ended_is_a_stray() -> None:
    it = shot()
    it.arrived(file(7), 100.003)
    it.completed(100.004)
    it.arrived(file(8), 102.1)
    it.completed(102.2)
    assert it.files == (file(8),)
    assert it.strays == (file(7),)


def test_a_repeat_of_this_or_the_last_shots_event_counts_once_or_not_at_all() -> None:
    it = shot(expect=2, before=frozenset({key(file(6))}))
    for number in (6, 7, 7):
        it.arrived(file(number), 102.1)
    it.completed(102.2)
    assert not it.done(103.0)
    assert it.files == (file(7),)
    assert it.strays == ()


def test_a_file_dated_before_the_trigger_waits_for_a_better_one_and_becomes_a_stray() -> None:
    it, old = shot(), file(7, DATE - timedelta(seconds=60))
    it.arrived(old, 102.1)
    assert not it.done(102.2)
    it.arrived(file(8), 102.3)
    it.completed(102.4)
    assert it.done(102.4)
    assert it.files == (file(8),)
    assert it.strays == (old,)


def test_a_doubtful_file_is_handed_over_where_nothing_better_comes() -> None:
    it, old = shot(), file(7, DATE - timedelta(seconds=60))
    it.arrived(old, 102.1)
    it.completed(102.2)
    assert not it.done(102.3)
    assert it.done(102.2 + ALLOW.quiet_s + 0.01)
    assert it.files == (old,)


@pytest.mark.parametrize("seconds", [0, 1, 2])
def test_dates_that_differ_by_less_than_their_whole_seconds_are_not_doubted(seconds: int) -> None:
    it = shot()
    it.arrived(file(1, DATE - timedelta(seconds=seconds)), 102.1)
    it.completed(102.2)
    assert it.done(102.2)


def test_where_a_date_is_unknown_nothing_is_doubted() -> None:
    it = shot()
    it.arrived(file(1, None), 102.1)
    it.completed(102.1)
    assert it.done(102.1)
    undated = Collector(1, 2.0, 100.0, None, frozenset(), ALLOW)
    undated.arrived(file(1, DATE - timedelta(days=1)), 102.1)
    undated.completed(102.1)
    assert undated.done(102.1)


def test_the_waits_are_exposure_and_allowance_and_then_once_more_with_room_for_a_dark_frame() -> None:
    it = shot()
    assert it.deadline_s() == 100 + 2 + ALLOW.event_s
    assert it.late_deadline_s() == 100 + 2 + ALLOW.event_s + 2 + ALLOW.late_s
    assert shot(exposure_s=None).deadline_s() == 100 + ALLOW.event_s


@given(st.floats(0, 40), st.floats(0, 60))
def test_pauses_never_overshoot_the_end_of_the_exposure_by_much(exposure_s: float, passed_s: float) -> None:
    it = shot(exposure_s=exposure_s)
    pause = it.pause_s(100.0 + passed_s)
    end = exposure_s * ALLOW.earliest_share
    assert 0.001 <= pause <= 0.05
    assert passed_s + pause <= max(passed_s, end) + 0.0011


@given(st.lists(st.tuples(st.integers(0, 5), st.floats(0, 5)), max_size=12))
def test_every_file_is_exactly_one_of_ours_stray_or_a_repeat(events: list[tuple[int, float]]) -> None:
    it = shot(before=frozenset({key(file(0))}))
    for number, after in sorted(events, key=lambda event: event[1]):
        it.arrived(file(number), 100 + after)
    told = [*it.files, *it.strays]
    assert {key(f) for f in told} == {key(file(n)) for n, _ in events} - {key(file(0))}
    assert len(told) == len({key(f) for f in told})
