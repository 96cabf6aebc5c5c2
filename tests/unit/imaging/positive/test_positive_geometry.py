"""Cutting out, straightening, turning: pictures of known places."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.imaging.positive import place, straighten


def corners_of(centre: tuple[float, float], size: tuple[float, float], degrees: float):
    a = math.radians(degrees)
    turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(size) / 2
    return tuple((float(x), float(y)) for x, y in half @ turn.T + np.array(centre))


def sloped(height: int = 300, width: int = 400) -> np.ndarray:
    """Each pixel tells where it is: red rises along, green down."""
    ys, xs = np.mgrid[0:height, 0:width]
    return np.stack([xs * 100, ys * 100, np.full_like(xs, 500)], -1).astype(np.uint16)


def test_an_upright_frame_is_cut_without_being_resampled():
    placing = place(corners_of((200.0, 150.0), (201.0, 101.0), 0.0))
    picture = straighten(sloped(), placing)
    assert not placing.resampled
    assert picture.shape == (101, 201, 3)
    assert np.array_equal(picture, sloped()[100:201, 100:301])


def test_four_quarters_and_mirrors_are_the_turns_they_say():
    corners = corners_of((200.0, 150.0), (201.0, 101.0), 0.0)
    upright = straighten(sloped(), place(corners))
    for quarters in range(4):
        for mirrored in (False, True):
            got = straighten(sloped(), place(corners, 0.0, quarters, mirrored))
            wanted = np.rot90(upright, -quarters)
            wanted = wanted[:, ::-1] if mirrored else wanted
            assert np.array_equal(got, wanted), (quarters, mirrored)


@given(degrees=st.floats(-5, 5), x=st.floats(190, 210), y=st.floats(140, 160))
def test_a_tilted_frame_comes_out_straight(degrees, x, y):
    placing = place(corners_of((x, y), (180.0, 120.0), degrees))
    picture = straighten(sloped(), placing).astype(float)
    assert picture.shape[:2] == (120, 180)
    # Walking along the cut picture is walking along the frame: both coordinates change as the turn says.
    a = math.radians(degrees) if placing.resampled else 0.0
    inner = picture[10:-10, 10:-10]
    slope_x, slope_y = np.diff(inner[:, :, 0], axis=1).mean() / 100, np.diff(inner[:, :, 1], axis=1).mean() / 100
    assert slope_x == pytest.approx(math.cos(a), abs=2e-3)
    assert slope_y == pytest.approx(math.sin(a), abs=2e-3)
    middle = picture[59:61, 89:91].mean(axis=(0, 1)) / 100
    assert middle[:2] == pytest.approx([x, y], abs=0.1 if placing.resampled else 0.51)


def test_resampling_keeps_a_smooth_picture():
    ys, xs = np.mgrid[0:300, 0:400]
    wave = (20000 + 8000 * np.sin(xs / 9) * np.cos(ys / 7)).astype(np.uint16)
    turned = straighten(wave, place(corners_of((200.0, 150.0), (180.0, 120.0), 2.0)))
    a = math.radians(2.0)
    u, v = np.meshgrid(np.arange(180) - 89.5, np.arange(120) - 59.5)
    x, y = 200 + u * math.cos(a) - v * math.sin(a), 150 + u * math.sin(a) + v * math.cos(a)
    wanted = 20000 + 8000 * np.sin(x / 9) * np.cos(y / 7)
    assert np.abs(turned - wanted).max() < 120


def test_a_margin_widens_and_tightens():
    corners = corners_of((200.0, 150.0), (200.0, 100.0), 0.0)
    assert place(corners, 5.0).size == (210, 110)
    assert place(corners, -5.0).size == (190, 90)
    assert place(corners, 5.0, 1).size == (110, 210)


def test_what_is_beyond_the_sensor_is_black():
    picture = straighten(np.full((100, 100), 60000, np.uint16), place(corners_of((50.0, 50.0), (120.0, 80.0), 0.0)))
    assert picture[40, 0] == 0
    assert picture[40, 60] == 60000
    assert cv2.countNonZero(picture[:, :9]) == 0


def test_corners_that_are_no_frame_are_refused():
    with pytest.raises(ValueError, match="too far round"):
        place(corners_of((200.0, 150.0), (200.0, 100.0), 40.0))
    with pytest.raises(ValueError, match="nothing of the frame"):
        place(corners_of((200.0, 150.0), (20.0, 20.0), 0.0), -15.0)
