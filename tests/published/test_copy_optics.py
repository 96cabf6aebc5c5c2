"""Optics of copying and the film tables of FADGI 2016 against published and computed values.

Where a value follows from a formula of the module's own sources, it was computed independently; the table's bounds are
those printed in FADGI 2016, pages 36 and 40.
"""

from __future__ import annotations

import pytest

from rigd.bench import fadgi
from rigd.bench.optics import (
    advise,
    airy_um,
    cutoff_lpmm,
    depth_of_field_um,
    diffraction_mtf,
    effective,
    greatest_tilt_deg,
    loss_stops,
    nyquist_lpmm,
    ppi,
)

pytestmark = pytest.mark.published


@pytest.mark.parametrize(
    ("pitch", "m", "samples", "limit"),
    [(6.000, 1.0, 4233.3, 83.33), (36000 / 9504, 1.0, 6705.6, 132.0), (36000 / 9504, 0.43, 2883.4, None),
     (23500 / 6000, 0.65, 4215.3, None)],
)  # fmt: skip
def test_sampling_at_the_film(pitch, m, samples, limit):
    assert ppi(m, pitch) == pytest.approx(samples, rel=1e-4)
    if limit:
        assert nyquist_lpmm(m, pitch) == pytest.approx(limit, rel=1e-4)


def test_four_thousand_samples_an_inch():
    pitch = 25400 / 4000
    assert pitch == pytest.approx(6.350)
    assert nyquist_lpmm(1.0, pitch) == pytest.approx(78.740, abs=1e-3)


@pytest.mark.parametrize(
    ("f_number", "m", "n_eff", "airy", "cut", "contrast"),
    [(8, 1.0, 16.0, 21.472, 113.64, 0.1946), (5.6, 1.0, 11.2, 15.030, 162.34, 0.4076),
     (4, 1.0, 8.0, 10.736, 227.27, 0.5679), (11, 1.0, 22.0, 29.524, 82.64, 0.0122), (8, 0.5, 12.0, 16.104, 75.76, 0.0)],
)  # fmt: skip
def test_diffraction_at_copy_distance(f_number, m, n_eff, airy, cut, contrast):
    assert effective(f_number, m) == pytest.approx(n_eff)
    assert airy_um(f_number, m) == pytest.approx(airy, abs=1e-3)
    assert cutoff_lpmm(f_number, m) == pytest.approx(cut, abs=0.01)
    assert diffraction_mtf(78.740, cutoff_lpmm(f_number, m)) == pytest.approx(contrast, abs=1e-4)


def test_the_diffraction_curve():
    # f/8 (effective 8), 550 nm; the prysm package gives the same numbers by the same closed form.
    cut = 1000 / (0.550 * 8)
    found = [diffraction_mtf(f, cut) for f in (0, 45, 90, 180)]
    assert found == pytest.approx([1, 0.749556, 0.509304, 0.110253], abs=1e-6)


def test_light_lost_to_extension():
    assert loss_stops(1.0) == pytest.approx(2.0)
    assert loss_stops(0.5) == pytest.approx(1.1699, abs=1e-4)


def test_depth_of_field():
    found = [depth_of_field_um(n, 1.0, 5.0) for n in (4, 5.6, 8, 11)]
    assert found == pytest.approx([80, 112, 160, 220])
    # Ilford Manual of Photography, as quoted: N 16, m 0.5, c 1/30 mm gives 6.400 mm.
    assert depth_of_field_um(16, 0.5, 1000 / 30) == pytest.approx(6400, abs=0.1)


def test_tilt_that_depth_allows():
    assert greatest_tilt_deg(100.0, 36.0) == pytest.approx(0.1592, abs=1e-4)
    assert greatest_tilt_deg(100.0, 24.0) == pytest.approx(0.2387, abs=1e-4)


def test_the_advice_names_the_aperture_with_most_depth_that_is_sharp_enough():
    found = advise(1.0, 6.35, (11, 4, 5.6, 8, 16))
    assert [s.f_number for s in found.stops] == [4, 5.6, 8, 11, 16]
    # At life size and 4000 ppi f/8 leaves 0.1946 and f/11 next to nothing (0.0122). Common practice, no source: f/8 to
    # f/11 for copying; by the numbers f/11 belongs to coarser sampling.
    assert found.best == 8
    assert "19 %" in found.why
    assert advise(0.43, 6.0, (5.6, 8, 11, 16)).best == 11
    assert "finer than the lens" in advise(3.0, 3.0, (8, 11)).why


def test_an_advice_without_numbers_is_refused():
    with pytest.raises(ValueError, match="f-numbers over 0"):
        advise(1.0, 6.0, ())


@pytest.mark.parametrize(
    ("row", "values"),
    [
        ("resolution", {4000: 4, 3999: 3, 3000: 3, 2999: 2, 1000: 1, 999: 0}),
        ("evenness", {0.9: 4, 1.0: 3, 2.99: 3, 3.0: 2, 5.0: 1, 8.0: 0}),
        ("registration", {0.32: 4, 0.33: 3, 0.5: 2, 0.8: 1, 1.2: 0}),
        ("efficiency", {91: 4, 90: 3, 80: 2, 70: 1, 60: 0}),
        ("sfr_half", {0.19: 4, 0.2: 3, 0.3: 2, 0.39: 2, 0.4: 0}),
        ("sfr50", {40: 4, 65: 4, 66: 3, 35: 3, 76: 2, 85: 2, 95: 1, 25: 1, 96: 0}),
        ("scale", {0.5: 4, 1.0: 3, 2.0: 2, 3.0: 0}),
        ("sharpening", {1.0: 4, 1.01: 3, 1.1: 2, 1.2: 1, 1.3: 0}),
        ("range", {4.0: 4, 3.9: 3, 3.8: 2, 3.5: 1, 3.4: 0}),
        ("bits", {16: 4, 8: 2}),
    ],
)
def test_the_stars_of_the_film_tables(row, values):
    assert {value: fadgi.stars(row, value) for value in values} == values


def test_what_the_tables_do_not_ask_of_film_gets_no_stars():
    assert fadgi.grade(None, 1.0) == "FADGI 2016: not defined for film"
    assert fadgi.grade("evenness", 0.5) == "FADGI 2016: four stars"
    assert not {"noise", "tone", "colour", "white balance"} & set(fadgi.ROWS)


def test_twelve_bits_cannot_reach_two_stars():
    # 12 bits linear hold 3.612 densities (12 x log10 2): under the 3.8 of two stars.
    assert fadgi.stars("range", 3.612) == 1
