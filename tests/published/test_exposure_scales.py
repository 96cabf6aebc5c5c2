"""Exposure arithmetic against published conventions: APEX, thirds of a stop, sRGB, FADGI aim points, mains ripple."""

from __future__ import annotations

import warnings
from math import log2

import numpy as np
import pytest

from rigd.imaging import Limits
from rigd.imaging.levels import stops
from rigd.imaging.mains import mains_safe, residual, third_stop
from rigd.imaging.predict import live_level
from rigd.imaging.preview import _encoded

with warnings.catch_warnings():
    # It says on import that its plots need a library that is not wanted here.
    warnings.simplefilter("ignore")
    import colour

pytestmark = pytest.mark.published

# The usual names of shutter times in thirds of a stop, 30 s to 1/8000 s (common practice, no source).
LONG = (30, 25, 20, 15, 13, 10, 8, 6, 5, 4, 3.2, 2.5, 2, 1.6, 1.3, 1)
FAST = (1.3, 1.6, 2, 2.5, 3, 4, 5, 6, 8, 10, 13, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 160, 200, 250, 320, 400, 500)
FASTER = (640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000)
NAMED = (*map(float, LONG), *(1 / n for n in (*FAST, *FASTER)))


def test_the_worst_name_is_a_tenth_of_a_stop_off():
    """Computed: Tv = -log2 t (APEX, Exif annex C); 1/60 names 1/64, an error of 0.0931 stop, the worst of all 55."""
    assert len(NAMED) == 55
    errors = [abs(log2(t / third_stop(t))) for t in NAMED]
    assert max(errors) == pytest.approx(0.0931, abs=1e-4)
    assert abs(log2((1 / 60) / (1 / 64))) == pytest.approx(0.0931, abs=1e-4)
    assert log2(60) == pytest.approx(5.906891, abs=1e-6)


@pytest.mark.parametrize("denominator", [125, 250, 500, 1000, 2000, 4000, 8000])
def test_binary_names_over_a_hundred_are_0_0342_off(denominator):
    """Computed: 125 stands for 128."""
    assert log2(third_stop(1 / denominator) * denominator) == pytest.approx(-0.0342, abs=1e-4)


def test_a_stop_is_a_factor_of_two_of_light():
    """APEX: exposure values are logarithms to base 2. Peak 0.25 to 0.90 is 1.8480 stops (computed)."""
    black, white = 512.0, 16383.0
    level = stops(black + 0.25 * (white - black), black, white)
    assert log2(0.90) - level == pytest.approx(1.8480, abs=1e-4)


def test_the_aim_is_the_middle_of_an_srgb_scale():
    """IEC 61966-2-1: code 128 is linear 0.21586 (colour-science); its level is -2.2 stops within 0.02."""
    linear = float(colour.models.eotf_sRGB(128 / 255))
    assert linear == pytest.approx(0.21586, abs=1e-5)
    assert log2(linear) == pytest.approx(Limits().centre, abs=0.02)


def test_the_ceiling_keeps_clear_of_fadgis_highlight_limit():
    """FADGI 2016, pp. 36-45: highlight aim 245 +- 5, no value over 250. 245 is 0.131 stop under clipping."""
    aim, most = (log2(float(colour.models.eotf_sRGB(code / 255))) for code in (245, 250))
    assert aim == pytest.approx(-0.131, abs=1e-3)
    assert most == pytest.approx(-0.065, abs=1e-3)
    assert Limits().ceiling < aim < most


@pytest.mark.parametrize("linear", [0.0, 0.001, 0.0031308, 0.18, 0.21404114, 0.5, 1.0])
def test_previews_are_encoded_as_srgb(linear):
    """Against colour-science's IEC 61966-2-1 encoding."""
    wanted = round(255 * float(colour.models.eotf_inverse_sRGB(linear)))
    with np.errstate(divide="ignore"):
        assert int(_encoded(np.log2(np.array([[linear]], np.float32)))[0, 0]) == wanted


@pytest.mark.parametrize("code", [5, 10, 118, 128, 245, 250])
def test_live_levels_are_decoded_as_srgb(code):
    """Against colour-science's IEC 61966-2-1 decoding."""
    found = live_level(np.full((20, 30, 3), code, np.uint8))
    assert found.centre == pytest.approx(log2(float(colour.models.eotf_sRGB(code / 255))), abs=1e-6)


@pytest.mark.parametrize(
    ("denominator", "at_100", "at_120"),
    [(30, 0.0827, 0.0), (50, 0.0, 0.1261), (60, 0.1654, 0.0), (100, 0.0, 0.1559), (125, 0.2339, 0.0416),
     (250, 0.7568, 0.6618), (1000, 0.9836, 0.9765)],
)  # fmt: skip
def test_what_is_left_of_the_mains_ripple(denominator, at_100, at_120):
    """Computed: |sinc(f t)| of a ripple at twice the mains."""
    assert residual(1 / denominator, 100) == pytest.approx(at_100, abs=1e-4)
    assert residual(1 / denominator, 120) == pytest.approx(at_120, abs=1e-4)


def test_a_twentieth_of_a_second_is_safe_on_both_mains():
    """Computed: 1/20 s is five periods at 100 Hz and six at 120 Hz."""
    times = [1 / 20, 1 / 125, 1 / 250, 1 / 1000]
    assert mains_safe(times, true_thirds=False) == [1 / 20]
    assert mains_safe(times, depth=1.0, true_thirds=False) == [1 / 20]
    assert 1 / 250 not in mains_safe(NAMED)
    assert {1.0, 2.0, 4.0} <= set(mains_safe(NAMED))
