"""The definition of exposure: aims, ceiling, retakes, and how fast a take converges."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigd.imaging import Limits, Raw
from rigd.imaging.levels import Histogram, histogram
from rigd.imaging.metering import meter
from rigd.model.words import Quality

BLACK, WHITE = 512.0, 16383.0
LIMITS = Limits()


def exposed(levels: np.ndarray, stops: float) -> Histogram:
    """The histogram of a picture whose true levels are known, taken with so many stops more light."""
    signal = BLACK + np.exp2(levels + stops) * (WHITE - BLACK)
    mosaic = np.clip(np.rint(signal), 0, WHITE).astype(np.uint16)
    height, width = mosaic.shape
    raw = Raw(mosaic, (0, 1, 1, 2), (BLACK,) * 4, WHITE, False, 1.0, 8.0, 100.0, None)
    return histogram(raw, (0, 0, width, height))


def picture(seed: int, span: float, skew: float) -> np.ndarray:
    """Levels spread over `span` stops around the aim, with more dark (skew < 1) or light."""
    share = np.random.default_rng(seed).random((80, 120)) ** (1 / skew)
    return LIMITS.centre + (share - 0.5) * span


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 999), st.floats(0.5, 4.0), st.floats(0.4, 2.5), st.floats(-5.0, 1.0))
def test_the_centre_is_the_middle_of_the_two_points(seed, span, skew, stops):
    found = exposed(picture(seed, span, skew), stops)
    metered = meter(found, LIMITS)
    if not metered.blind:
        lead = int(np.argmax(metered.level.light))
        assert metered.level.centre == (metered.level.dark[lead] + metered.level.light[lead]) / 2
        reached = metered.level.centre + metered.correction
        assert reached <= LIMITS.centre + 1e-9


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 999), st.floats(0.5, 9.0), st.floats(0.4, 2.5), st.floats(-4.0, 2.0))
def test_the_ceiling_holds_after_a_measured_correction(seed, span, skew, stops):
    levels = picture(seed, span, skew)
    metered = meter(exposed(levels, stops), LIMITS)
    if metered.blind:
        return
    after = exposed(levels, stops + metered.correction)
    # Whole raw units shift a pixel by up to half of one: the bound is held to a hundredth of a stop.
    assert all(after.share_over(c, LIMITS.ceiling + 0.01) <= LIMITS.over_pct / 100 for c in range(3))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 999), st.floats(1.0, 4.3), st.floats(0.4, 2.5), st.floats(-6.0, 6.0))
def test_from_six_stops_off_to_the_aim_in_two_corrections(seed, span, skew, stops):
    levels = picture(seed, span, skew)
    for _ in range(2):
        metered = meter(exposed(levels, stops), LIMITS)
        if metered.take is Quality.GOOD:
            break
        stops += np.floor(metered.correction * 3) / 3
    final = meter(exposed(levels, stops), LIMITS)
    assert final.take is Quality.GOOD, (final, stops)


@pytest.mark.parametrize(
    ("stops", "word"),
    [(0.0, Quality.GOOD), (0.30, Quality.GOOD), (0.4, Quality.HIGH), (-0.6, Quality.GOOD), (-0.75, Quality.LOW)],
)
def test_retakes_begin_a_third_over_and_two_thirds_under(stops, word):
    assert meter(exposed(picture(1, 2.0, 1.0), stops), LIMITS).take is word


def test_one_in_a_thousand_over_the_ceiling_is_allowed_and_no_more():
    levels = np.full((100, 200), -2.2)
    reds = levels[0::2, 0::2]
    reds.flat[:5] = -0.1
    assert meter(exposed(levels, 0.0), LIMITS).take is not Quality.CLIPPED
    reds.flat[:6] = -0.1
    metered = meter(exposed(levels, 0.0), LIMITS)
    assert metered.take is Quality.CLIPPED
    assert metered.level.clipped_pct == pytest.approx(0.12)


def test_too_long_a_range_sits_at_the_ceiling_and_is_told():
    levels = np.linspace(-10.6, -0.2, 80 * 120).reshape(80, 120)
    metered = meter(exposed(levels, 0.0), LIMITS)
    assert metered.take is Quality.EXCEEDS
    assert metered.correction == pytest.approx(0.04, abs=0.03)
    assert metered.bracket == pytest.approx(0.5, abs=0.1)


def test_a_long_range_that_still_clears_the_noise_is_good():
    assert meter(exposed(np.linspace(-8.0, -0.3, 9600).reshape(80, 120), 0.0), LIMITS).take is Quality.GOOD


def test_the_brightest_channel_leads():
    levels = picture(2, 2.0, 1.0)
    levels[1::2, 1::2] += 1.0
    metered = meter(exposed(levels, 0.0), LIMITS)
    assert metered.level.off_stops == pytest.approx(1.0, abs=0.05)


def test_the_base_of_a_held_roll_sits_half_a_stop_under_saturation():
    found = exposed(picture(3, 2.0, 1.0), -1.0)
    metered = meter(found, LIMITS, aim="base", base=(-1.7, -2.4, -3.1))
    assert metered.level.aim == "base"
    assert metered.correction == pytest.approx(1.2, abs=1e-6)


def test_without_a_base_the_centre_is_the_aim():
    assert meter(exposed(picture(3, 2.0, 1.0), 0.0), LIMITS, aim="base").level.aim == "centre"
