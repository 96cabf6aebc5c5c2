"""The first shutter foretold: by live view, by the base beside the picture, by the frames before."""

from __future__ import annotations

from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.imaging import Limits
from rigd.imaging.forecast import Lesson, Reading, Source, forecast, slope

LIMITS = Limits()
# A live picture's white against the raw's, in stops: what a body's own tone curve adds (any number will do).
CURVE = 0.7
SPAN = 3.0
densities = st.lists(st.floats(-3.0, 3.0), min_size=2, max_size=9)


def needed(density: float) -> float:
    """Seconds that bring a picture of that density (stops over an ordinary one) to the aim."""
    return float(2.0 ** (-5 + density))


def seen(density: float, seconds: float, automatic: bool = False) -> Reading:
    """Its live picture: as the shutter gives it, or with the base always at the same height."""
    centre = LIMITS.centre + log2(seconds / needed(density)) + CURVE
    base = LIMITS.centre + log2(seconds / needed(0.0)) + CURVE + 4.0
    shift = -0.4 - base if automatic else 0.0
    light = centre + SPAN / 2 + shift
    return Reading(seconds, centre - SPAN / 2 + shift, light, light, base + shift, light > 0)


@given(densities)
def test_live_view_that_follows_foretells_every_density(some: list[float]) -> None:
    lessons = [Lesson(needed(d), seen(d, needed(d))) for d in some[:-1]]
    found = forecast(lessons, seen(some[-1], needed(some[-1])), True, lessons[-1].needed_s, LIMITS)
    assert found.source is not Source.SETTING
    if found.source is Source.LIVE:
        assert found.seconds == pytest.approx(needed(some[-1]))


@given(densities)
def test_behind_an_automatic_gain_the_base_foretells(some: list[float]) -> None:
    lessons = [Lesson(needed(d), seen(d, 1 / 30, automatic=True)) for d in some[:-1]]
    found = forecast(lessons, seen(some[-1], 1 / 30, automatic=True), False, lessons[-1].needed_s, LIMITS)
    assert found.source is not Source.LIVE
    if found.source is Source.BASE:
        assert found.seconds == pytest.approx(needed(some[-1]))


def test_a_source_that_misses_gives_way() -> None:
    # The base reading is random, the frames are all alike: the frame before is the better teacher.
    noise = [0.0, 2.0, -1.5, 1.0, -2.0, 1.7]
    lessons = [Lesson(1 / 30, Reading(1 / 30, -4.0, -1.0, -1.0, n)) for n in noise]
    found = forecast(lessons, Reading(1 / 30, -4.0, -1.0, -1.0, 2.0), False, 1 / 30, LIMITS)
    assert (found.source, found.seconds) == (Source.PAST, 1 / 30)


def test_nothing_known_is_the_setting_and_one_frame_is_carried_on() -> None:
    assert forecast([], None, False, None, LIMITS).source is Source.SETTING
    assert forecast([Lesson(0.2)], None, False, 0.2, LIMITS).seconds == 0.2


def test_a_burnt_out_live_picture_teaches_nothing() -> None:
    burnt = Lesson(1 / 30, Reading(2.0, 0.0, 0.0, 0.0, 0.0, over=True))
    found = forecast([burnt], seen(0.0, 1 / 30), True, None, LIMITS)
    assert found.seconds == pytest.approx(needed(0.0) * 2.0**-CURVE)


@pytest.mark.parametrize(("automatic", "told"), [(False, 1.0), (True, 0.0)])
def test_two_looks_tell_whether_live_view_follows(automatic: bool, told: float) -> None:
    found = slope(seen(0.0, 1 / 60, automatic), seen(0.0, 1 / 240, automatic))
    assert found == pytest.approx(told)


def test_an_end_of_the_scale_tells_nothing() -> None:
    assert slope(seen(0.0, 1.0), seen(0.0, 0.25)) is None
    assert slope(seen(0.0, 1 / 30), seen(0.0, 1 / 30)) is None
