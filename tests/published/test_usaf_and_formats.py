"""Bar target and film formats against published tables."""

from __future__ import annotations

import pytest

from rigd.imaging.framing.ruler import PITCH_MM
from rigd.imaging.usaf import bar_um, limit, line_pairs, may_count
from rigd.model.formats import FORMATS

pytestmark = pytest.mark.published

# MIL-STD-150A (cancelled 2006), formula and table as in encyclopaedias: line pairs a mm of elements 1 to 6.
TABLE = {
    0: (1.000, 1.122, 1.260, 1.414, 1.587, 1.782),
    1: (2.000, 2.245, 2.520, 2.828, 3.175, 3.564),
    3: (8.000, 8.980, 10.079, 11.314, 12.699, 14.254),
    5: (32.00, 35.919, 40.317, 45.255, 50.797, 57.018),
    6: (64.00, 71.838, 80.635, 90.510, 101.594, 114.035),
    7: (128.0, 143.675, 161.270, 181.019, 203.187, 228.070),
}


@pytest.mark.parametrize("group", sorted(TABLE))
def test_line_pairs_of_the_target(group):
    found = [line_pairs(group, element) for element in range(1, 7)]
    assert found == pytest.approx(TABLE[group], rel=1e-3)


def test_bars_of_the_target():
    """Computed: a bar is half a line pair."""
    assert (bar_um(6, 1), bar_um(4, 1)) == pytest.approx((7.8125, 31.25))
    with pytest.raises(ValueError, match="1 to 6"):
        line_pairs(2, 7)


def test_what_4000_ppi_may_be_credited_with():
    """Computed: 4000 ppi is 157.480 px a mm, its limit 78.740 line pairs a mm: between elements 2 and 3 of group 6."""
    scale = 4000 / 25.4
    assert limit(scale) == pytest.approx(78.740, abs=1e-3)
    assert may_count(6, 2, scale)
    assert not may_count(6, 3, scale)


def test_35_mm_frames_follow_every_eighth_perforation():
    """SMPTE 139 (second-hand): pitch 4.750 mm; one 135 frame every 8 perforations, a half frame every 4."""
    assert FORMATS["135"].pitch_mm == pytest.approx(8 * PITCH_MM)
    assert FORMATS["135-half"].pitch_mm == pytest.approx(4 * PITCH_MM)
    # At 4000 ppi a pitch is 748.03 px (computed).
    assert pytest.approx(748.03, abs=0.01) == PITCH_MM * 4000 / 25.4


@pytest.mark.parametrize("name", [name for name in FORMATS if name.startswith("120-")])
def test_a_120_film_holds_664_to_708_mm_of_picture(name):
    """Two independent tables agree: frames times length lies in 664 to 708 mm for every format of 120 film."""
    film = FORMATS[name]
    lengths = [count * film.along_mm for count in film.counts]
    assert any(664 <= length <= 708 for length in lengths)
