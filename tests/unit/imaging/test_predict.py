"""The guess from the live picture follows the light, and says where it is only a bound."""

from __future__ import annotations

import numpy as np
import pytest

from rigd.imaging.predict import live_level


def view(linear: np.ndarray) -> np.ndarray:
    """sRGB bytes of grey linear light (h, w)."""
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return np.repeat(np.rint(255 * np.clip(coded, 0, 1)).astype(np.uint8)[:, :, None], 3, axis=2)


@pytest.mark.parametrize("stops", [-2.0, -1.0, 0.0])
def test_the_level_follows_the_light(stops):
    ramp = np.tile(2.0 ** (np.linspace(-4, -1, 400) + stops), (200, 1))
    assert live_level(view(ramp)).centre == pytest.approx(-2.5 + stops, abs=0.1)


def test_only_the_box_counts():
    picture = view(np.full((100, 100), 0.9))
    picture[20:40, 30:60] = view(np.full((20, 30), 0.1))
    assert live_level(picture, (30, 20, 60, 40)).light == pytest.approx(np.log2(0.1), abs=0.05)


def test_what_is_lost_at_the_ends_is_told():
    assert live_level(view(np.full((50, 50), 1.0))).lost_pct == 100.0
    assert live_level(view(np.full((50, 50), 0.2))).lost_pct == 0.0


def test_a_box_out_of_sight_is_refused():
    with pytest.raises(ValueError, match="outside"):
        live_level(view(np.full((50, 50), 0.2)), (60, 60, 80, 80))
