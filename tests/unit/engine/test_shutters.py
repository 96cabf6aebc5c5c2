"""The shutter list in stops, against the true third-stop series t = 2^(-i/3) (ISO 3 preferred numbers, APEX)."""

from __future__ import annotations

from math import log2, pi, sin
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.engine.shutters import NOMINAL_SLACK_STOPS, pick
from rigd.errors import CameraLacks
from rigd.ports import Choice

# The nominal third-stop times of the trade, 30 s to 1/8000 s (common practice, no source).
NOMINAL = [
    30, 25, 20, 15, 13, 10, 8, 6, 5, 4, 3.2, 2.5, 2, 1.6, 1.3, 1, 0.8, 0.6, 0.5, 0.4, 0.3, 1 / 4, 1 / 5, 1 / 6, 1 / 8,
    1 / 10, 1 / 13, 1 / 15, 1 / 20, 1 / 25, 1 / 30, 1 / 40, 1 / 50, 1 / 60, 1 / 80, 1 / 100, 1 / 125, 1 / 160, 1 / 200,
    1 / 250, 1 / 320, 1 / 400, 1 / 500, 1 / 640, 1 / 800, 1 / 1000, 1 / 1250, 1 / 1600, 1 / 2000, 1 / 2500, 1 / 3200,
    1 / 4000, 1 / 5000, 1 / 6400, 1 / 8000,
]  # fmt: skip
MENU = [Choice(f"{s:g}", s) for s in NOMINAL]
WIDE = {"shortest_s": 1 / 8000, "longest_s": 30.0}


@pytest.mark.published
def test_nominal_times_miss_the_true_thirds_by_0_0931_stop_at_most() -> None:
    # CHECK-VALUES c4: worst of the 55 times is 0.0931 stop, at 1/60 and its like.
    errors = [abs(log2(s) * 3 - round(log2(s) * 3)) / 3 for s in NOMINAL]
    assert len(NOMINAL) == 55
    assert max(errors) == pytest.approx(0.0931, abs=5e-5)
    assert max(errors) < NOMINAL_SLACK_STOPS


@given(i=st.integers(-14, 38))
def test_every_true_third_finds_its_nominal_time(i: int) -> None:
    picked = pick(MENU, 2.0 ** (-i / 3), **WIDE)
    assert abs(picked.short_stops) <= 0.0932


@given(stops=st.floats(-4.9, 12.9))
def test_any_time_is_met_within_a_sixth_and_the_slack(stops: float) -> None:
    assert abs(pick(MENU, 2.0**-stops, **WIDE).short_stops) <= 1 / 6 + NOMINAL_SLACK_STOPS


@given(stops=st.floats(-4.9, 12.9))
def test_never_longer_means_never_longer(stops: float) -> None:
    assert pick(MENU, 2.0**-stops, **WIDE, never_longer=True).short_stops <= NOMINAL_SLACK_STOPS


def test_limits_are_kept_and_what_is_short_is_told() -> None:
    picked = pick(MENU, 30.0, shortest_s=1 / 1000, longest_s=4.0)
    assert picked.choice.value == 4
    assert picked.short_stops == pytest.approx(log2(4 / 30))


def test_no_time_within_the_limits_is_said() -> None:
    with pytest.raises(CameraLacks, match="within the limits"):
        pick(MENU, 1.0, shortest_s=40.0, longest_s=50.0)
    with pytest.raises(CameraLacks, match="safe under a lamp"):
        pick(MENU, 1.0, shortest_s=1 / 8000, longest_s=1 / 200, ripples_hz=(100.0,))


@pytest.mark.parametrize(
    ("wanted", "limits", "said"),
    [
        (1 / 10000, WIDE, "list ends at 1/8000 s"),
        (60.0, WIDE, "list ends at 30 s"),
        (1 / 500, {"shortest_s": 1 / 100, "longest_s": 30.0}, "1/100 s is the fastest time that is allowed"),
        (4.0, {"shortest_s": 1 / 8000, "longest_s": 1.0}, "1 s is the slowest time that is allowed"),
        (1 / 500, {**WIDE, "ripples_hz": (100.0,)}, "No shorter time that is nearer is safe"),
        (1 / 30, WIDE, ""),
    ],
)
def test_which_limit_was_met_is_said(wanted: float, limits: dict[str, Any], said: str) -> None:
    bound = pick(MENU, wanted, **limits).bound
    assert said in bound
    assert bool(said) is bool(bound)


@given(stops=st.floats(-4.9, 12.9), hertz=st.sampled_from([(100.0,), (120.0,), (100.0, 120.0)]))
def test_a_safe_time_is_whole_ripples(stops: float, hertz: tuple[float, ...]) -> None:
    # CHECK-VALUES g: what remains of the ripple is |sinc(f t)|; a lamp of 30 % leaves under 2 % of its light.
    safe = pick(MENU, 2.0**-stops, 1 / 8000, 30.0, ripples_hz=hertz).choice.value
    assert all(0.3 * abs(sin(pi * f * safe) / (pi * f * safe)) < 0.02 for f in hertz)
