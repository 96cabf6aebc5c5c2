"""Dust and pinholes are left out of the exposure by their area, and by nothing else."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from rigd.imaging import Raw
from rigd.imaging.levels import histogram
from rigd.imaging.specks import counts_in, spots


def test_groups_are_left_out_by_their_area():
    rng = np.random.default_rng(2)
    levels = rng.normal(-2, 0.05, (200, 300)).astype(np.float32)
    for y, x, size in ((20, 20, 1), (50, 60, 2), (90, 120, 3), (150, 200, 8)):
        levels[y : y + size, x : x + size] = -6.0
    found = spots(levels, -4.0, -1.0, blocks=4.0)
    labels, count = ndimage.label(levels < -4.0, np.ones((3, 3)))
    brute = np.isin(labels, [i for i in range(1, count + 1) if (labels == i).sum() <= 4])
    assert np.array_equal(found, brute)
    assert found.sum() == 1 + 4


def test_texture_is_not_taken_for_dirt():
    rng = np.random.default_rng(2)
    assert not spots(rng.normal(-2, 1, (200, 300)).astype(np.float32), -3.0, -1.0, blocks=9.0).any()


def test_the_pixels_of_marked_blocks_are_counted_once():
    mosaic = np.random.default_rng(5).integers(512, 16383, (120, 180)).astype(np.uint16)
    raw = Raw(mosaic, (0, 1, 1, 2), (512.0,) * 4, 16383.0, False, 1.0, 8.0, 100.0, None)
    blocks = np.zeros((20, 30), bool)
    blocks[3, 4] = blocks[10, 11] = True
    found = counts_in(raw, blocks, (0, 0), 6, 0, 1)
    brute = [histogram(raw, (6 * x, 6 * y, 6 * x + 6, 6 * y + 6), 1).counts for x, y in ((4, 3), (11, 10))]
    assert np.array_equal(found.counts, brute[0] + brute[1])
