"""Levels in stops, exact histograms and percentiles, against numpy's own definitions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigd.imaging.levels import drawn, histogram, stops, stops_of
from rigd.imaging.planes import even_box, reduce

BLACK, WHITE = 512.0, 16383.0


@given(st.floats(0.001, 1.0), st.integers(1, 12))
def test_half_the_light_is_one_stop_less(share, halvings):
    full = stops(BLACK + share * (WHITE - BLACK), BLACK, WHITE)
    less = stops(BLACK + share * 0.5**halvings * (WHITE - BLACK), BLACK, WHITE)
    floor = np.log2(0.5 / (WHITE - BLACK))
    assert less == pytest.approx(max(full - halvings, floor), abs=1e-9)


def test_saturation_is_zero_and_black_is_the_floor():
    assert stops(WHITE, BLACK, WHITE) == 0.0
    assert stops(BLACK, BLACK, WHITE) == stops(0.0, BLACK, WHITE) == pytest.approx(np.log2(0.5 / 15871))


def test_levels_of_arrays_agree_with_the_scalar():
    linear = np.array([[1.0, 0.5, 0.21586, 1e-9]], np.float32)
    assert stops_of(linear, 2.0**-13)[0] == pytest.approx([0.0, -1.0, np.log2(0.21586), -13.0], abs=1e-5)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**31), st.integers(1, 20), st.integers(1, 20), st.sampled_from([0.005, 0.5, 0.995, 0.999]))
def test_points_are_numpys_inverted_distribution(make_raw_of, seed, rows, columns, share):
    mosaic = np.random.default_rng(seed).integers(400, 16384, (2 * rows, 2 * columns)).astype(np.uint16)
    found = histogram(make_raw_of(mosaic), (0, 0, 2 * columns, 2 * rows))
    greens = np.concatenate([mosaic[0::2, 1::2].ravel(), mosaic[1::2, 0::2].ravel()])
    for channel, values in enumerate((mosaic[0::2, 0::2], greens, mosaic[1::2, 1::2])):
        wanted = np.quantile(values, share, method="inverted_cdf")
        assert found.point(channel, share) == stops(float(wanted), BLACK, WHITE)


@pytest.fixture(scope="module")
def make_raw_of():
    from rigd.imaging import Raw

    return lambda mosaic: Raw(mosaic, (0, 1, 1, 2), (BLACK,) * 4, WHITE, False, 1 / 60, 8.0, 100.0, None)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**31), st.floats(-9.0, -0.01))
def test_share_over_counts_pixels_one_by_one(make_raw_of, seed, level):
    mosaic = np.random.default_rng(seed).integers(400, 16384, (16, 24)).astype(np.uint16)
    found = histogram(make_raw_of(mosaic), (0, 0, 24, 16))
    reds = mosaic[0::2, 0::2].astype(float).ravel()
    brute = np.mean([stops(v, BLACK, WHITE) > level for v in reds])
    assert found.share_over(0, level) == pytest.approx(brute, abs=1e-12)


def test_only_the_box_is_counted(make_raw_of):
    mosaic = np.full((64, 96), 600, np.uint16)
    mosaic[10:20, 30:50] = 9000
    found = histogram(make_raw_of(mosaic), (30, 10, 50, 20))
    assert [found.total(c) for c in range(3)] == [50, 100, 50]
    assert found.counts[:, 9000].tolist() == [50, 100, 50]


def test_boxes_shrink_to_whole_cells(make_raw_of):
    assert even_box((3, 5, 200, 21), make_raw_of(np.zeros((20, 30), np.uint16))) == (4, 6, 30, 20)


def test_sampled_rows_tell_the_same_within_noise(make_raw_of):
    mosaic = np.random.default_rng(3).normal(4000, 300, (2000, 2000)).astype(np.uint16)
    raw, box = make_raw_of(mosaic), (0, 0, 2000, 2000)
    whole, sampled = histogram(raw, box, 1), histogram(raw, box, 2)
    assert sampled.total(0) * 2 == whole.total(0)
    assert sampled.point(1, 0.995) == pytest.approx(whole.point(1, 0.995), abs=0.005)


def test_reduced_copy_is_the_mean_of_its_blocks(make_raw_of):
    mosaic = np.random.default_rng(4).integers(512, 16383, (240, 360)).astype(np.uint16)
    small = reduce(make_raw_of(mosaic), 60)
    assert (small.step, small.linear.shape) == (6, (40, 60, 3))
    blue = (mosaic[1::2, 1::2].astype(float) - BLACK) / (WHITE - BLACK)
    brute = blue.reshape(40, 3, 60, 3).mean(axis=(1, 3))
    # The copy keeps whole raw units: half of one is 0.00003 of the range.
    assert small.linear[:, :, 2] == pytest.approx(brute, abs=4e-5)


def test_drawn_bins_hold_every_pixel(make_raw_of):
    mosaic = np.random.default_rng(5).integers(0, 16384, (64, 64)).astype(np.uint16)
    bins = drawn(histogram(make_raw_of(mosaic), (0, 0, 64, 64)))
    assert [sum(channel) for channel in bins] == [1024, 2048, 1024]
    assert len(bins[0]) == 72
