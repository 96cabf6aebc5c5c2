"""Density, exposure and print against worked numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.imaging.positive import Paper, density, log_exposure, print_share
from rigd.imaging.transfer import decoded, encoded


def test_density_of_iso_5_transmittances():
    # ISO 5-1: D = -log10 T.
    shares = np.array([1.0, 0.5, 0.1, 0.01, 0.001])
    assert density(shares, 1.0) == pytest.approx([0, 0.30103, 1, 2, 3], abs=1e-5)
    assert density(shares * 0.4, 0.4) == pytest.approx([0, 0.30103, 1, 2, 3], abs=1e-5)


def test_exposure_of_densities_at_gamma_0_6():
    # E = 10^(D / gamma), by arithmetic: 0.3, 0.6, 1.2 give 3.1623, 10, 100 times the light.
    light = 10 ** log_exposure(np.array([0.3, 0.6, 1.2]), 0.0, 0.6)
    assert light == pytest.approx([3.16228, 10.0, 100.0], rel=1e-5)


def test_the_srgb_curve_at_published_points():
    # IEC 61966-2-1 by colour-science.
    values = encoded(np.array([0.0031308, 0.18, 0.21404114, 0.5, 1.0, 2.0, -1.0]))
    assert values == pytest.approx([0.040450, 0.46135613, 0.5, 0.73535698, 1.0, 1.0, 0.0], abs=1e-5)
    back = decoded(np.array([0.04045, 128 / 255, 118 / 255]))
    assert back == pytest.approx([0.00313081, 0.21586050, 0.18116424], abs=1e-7)
    assert encoded(np.array([0.5], np.float32)).dtype == np.float32


def test_nothing_and_less_than_nothing_is_the_deepest_density():
    assert density(np.array([0.0, -0.1]), 1.0) == pytest.approx([6.0, 6.0])


def test_middle_grey_prints_as_middle_grey_with_the_paper_s_contrast():
    paper = Paper(contrast=1.3)
    at, step = np.array([0.0]), 1e-4
    assert print_share(at, paper)[0] == pytest.approx(0.18, abs=0.012)  # less what the black's lift takes
    floor = 10.0 ** -(paper.black - paper.white)
    prints = -np.log10(print_share(np.array([-step, step]), paper) * (1 - floor) + floor)
    assert (prints[0] - prints[1]) / (2 * step) == pytest.approx(1.3, rel=1e-3)


@given(contrast=st.floats(0.3, 3.5), black=st.floats(1.2, 2.6))
def test_more_light_is_never_darker_and_stays_on_the_paper(contrast, black):
    values = print_share(np.linspace(-12, 12, 400), Paper(contrast, 0.05, black))
    assert np.all(np.diff(values) >= 0)
    assert values[0] == pytest.approx(0.0, abs=2e-2)
    assert values[-1] == pytest.approx(1.0, abs=2e-2)
    assert values.min() >= 0.0
    assert values.max() <= 1.0


@pytest.mark.parametrize("wrong", [{"contrast": 0.0}, {"contrast": 9.0}, {"white": 0.5, "black": 0.9}, {"white": -0.1}])
def test_a_paper_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match=r"paper|contrast"):
        Paper(**wrong)
