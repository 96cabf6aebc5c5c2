"""Short, long and double presses from timed edges."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.pedal import Edge, Timing, gestures, steady
from rigd.drivers.pedal.gestures import Gesture
from rigd.drivers.pedal.recogniser import Recogniser

TIMING = Timing(debounce=0.04, long=0.6, double=0.3)


def edges(*times: float) -> list[Edge]:
    """Down and up in turn."""
    return [Edge(at, n % 2 == 0) for n, at in enumerate(times)]


def named(times: list[float], now: float, timing: Timing = TIMING) -> list[Gesture]:
    return [found.gesture for found in gestures(edges(*times), now, timing).found]


@pytest.mark.parametrize(
    ("times", "now", "meant"),
    [
        ([0.0], 0.1, []),  # still held, may become long
        ([0.0], 0.6, ["long"]),  # told while held
        ([0.0, 0.1], 0.2, []),  # may become double
        ([0.0, 0.1], 0.4, ["short"]),
        ([0.0, 0.1, 0.3], 0.3, ["double"]),  # told at the second press
        ([0.0, 0.1, 0.3, 0.4], 2.0, ["double"]),
        ([0.0, 0.1, 0.5, 0.6], 2.0, ["short", "short"]),
        ([0.0, 0.8], 2.0, ["long"]),
        ([0.0, 0.8, 0.9, 1.0], 2.0, ["long", "short"]),  # a long press is no first half of a double one
        ([0.0, 0.1, 0.2, 1.5], 2.0, ["double"]),  # a second press that is held stays a double one
        ([0.0, 0.1, 0.2, 0.3, 0.4, 0.5], 2.0, ["double", "short"]),  # three presses
    ],
)
def test_gestures(times: list[float], now: float, meant: list[Gesture]) -> None:
    assert named(times, now) == meant


def test_without_double_a_short_press_is_told_at_its_release() -> None:
    assert named([0.0, 0.1], 0.1, Timing(double=None)) == ["short"]


def test_without_long_and_double_it_is_told_at_the_press() -> None:
    assert named([0.0], 0.0, Timing(long=None, double=None)) == ["short"]
    assert named([0.0, 5.0, 5.1], 9.0, Timing(long=None, double=None)) == ["short", "short"]


def test_it_says_when_to_ask_again() -> None:
    assert gestures(edges(1.0), 1.1, TIMING).again_at == 1.6
    assert gestures(edges(1.0, 1.1), 1.2, TIMING).again_at == pytest.approx(1.4)
    assert gestures(edges(1.0, 1.1), 1.5, TIMING).again_at is None


def test_bounces_are_taken_out() -> None:
    bounced = edges(0.0, 0.002, 0.003, 0.010, 0.012, 0.5, 0.503, 0.504)
    kept, hidden = steady(bounced, 1.0, 0.04)
    assert kept == (Edge(0.0, True), Edge(0.5, False))
    assert hidden is None


def test_a_tap_shorter_than_the_bounce_time_ends_after_it() -> None:
    tap = edges(0.0, 0.02)
    assert steady(tap, 0.03, 0.04) == ((Edge(0.0, True),), 0.04)
    assert steady(tap, 0.04, 0.04) == ((Edge(0.0, True), Edge(0.04, False)), None)


TIMES = st.lists(st.floats(0.0, 5.0), max_size=24).map(sorted)


@given(TIMES)
def test_steady_edges_take_turns_and_keep_their_distance(times: list[float]) -> None:
    kept, _ = steady(edges(*times), 10.0, 0.04)
    assert [edge.down for edge in kept] == [n % 2 == 0 for n in range(len(kept))]
    assert all(b.at - a.at >= 0.04 - 1e-9 for a, b in itertools.pairwise(kept))


@given(TIMES)
def test_the_last_steady_state_is_the_contacts_own(times: list[float]) -> None:
    kept, hidden = steady(edges(*times), 10.0, 0.04)
    assert hidden is None
    assert (kept[-1].down if kept else False) == (len(times) % 2 == 1)


def run(times: list[float], looks: list[float], timing: Timing) -> list[tuple[Gesture, float]]:
    """As a driver would: edges as they come, looks in between, and those that were asked for."""
    recogniser = Recogniser(timing)
    found: list[tuple[Gesture, float]] = []
    for at, edge in sorted([(e.at, e) for e in edges(*times)] + [(at, None) for at in looks], key=lambda one: one[0]):
        while recogniser.again_at is not None and recogniser.again_at <= at:
            found += [(one.gesture, one.at) for one in recogniser.pass_time(recogniser.again_at)]
        told = recogniser.edge(edge) if edge else recogniser.pass_time(at)
        found += [(one.gesture, one.at) for one in told]
    while recogniser.again_at is not None:
        found += [(one.gesture, one.at) for one in recogniser.pass_time(recogniser.again_at)]
    return found


@given(TIMES, st.lists(st.floats(0.0, 6.0), max_size=6))
def test_looking_more_often_changes_nothing(times: list[float], looks: list[float]) -> None:
    assert run(times, looks, TIMING) == run(times, [], TIMING)


@given(TIMES, st.booleans(), st.booleans())
def test_every_steady_press_means_exactly_one_thing(times: list[float], long: bool, double: bool) -> None:
    timing = Timing(long=0.6 if long else None, double=0.3 if double else None)
    presses = sum(edge.down for edge in steady(edges(*times), 10.0, timing.debounce)[0])
    found = run(times, [], timing)
    if not long and times and len(times) % 2 == 1 and double:
        presses -= found_held(times, timing)
    assert sum(2 if gesture == "double" else 1 for gesture, _ in found) == presses


def found_held(times: list[float], timing: Timing) -> int:
    """1 if a last press is still held and, without long ones in use, means nothing before it ends."""
    kept, _ = steady(edges(*times), 10.0, timing.debounce)
    return int(bool(gestures(kept, 10.0, timing).rest))


def test_an_auto_repeat_is_no_edge() -> None:
    recogniser = Recogniser(TIMING)
    assert recogniser.edge(Edge(0.0, True)) == ()
    assert recogniser.edge(Edge(0.3, True)) == ()
    assert [one.gesture for one in recogniser.edge(Edge(0.7, True)) + recogniser.pass_time(0.7)] == ["long"]


def test_what_is_decided_is_forgotten() -> None:
    recogniser = Recogniser(TIMING)
    for n in range(50):
        recogniser.edge(Edge(n * 2.0, True))
        recogniser.edge(Edge(n * 2.0 + 0.1, False))
        recogniser.pass_time(n * 2.0 + 1.0)
        assert len(recogniser._raw) == 0
