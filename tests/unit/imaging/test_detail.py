"""Pieces of a take at full size. Sources: LibRaw's own demosaic of the same file; the arithmetic of corners by hand."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import rawpy

from rigd.imaging.detail import SPOTS, detail, spot_of
from rigd.imaging.raw import Raw, open_raw
from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene import Scene, SceneSpec


def raw_of(mosaic: np.ndarray[tuple[int, int], np.dtype[np.uint16]], pattern: tuple[int, int, int, int]) -> Raw:
    return Raw(mosaic, pattern, (64.0,) * 4, 4095.0, len(set(pattern)) == 1, 0.1, 8.0, 100.0, None)


@pytest.mark.parametrize("pattern", [(0, 1, 1, 2), (1, 0, 2, 1), (1, 2, 0, 1), (2, 1, 1, 0)])
def test_every_order_of_filters_gives_the_right_colours(pattern: tuple[int, int, int, int]) -> None:
    """Left half red light, right half blue light: whatever the order of the filters, so must it look."""
    mosaic = np.full((400, 600), 100, np.uint16)
    for place, channel in enumerate(pattern):
        for half, lit in ((slice(0, 300), 0), (slice(300, 600), 2)):
            plane = mosaic[:, half][place // 2 :: 2, place % 2 :: 2]
            plane[:] = 3000 if channel == lit else 100
    piece = detail(raw_of(mosaic, pattern), (0.5, 0.5), inverted=False, grey=False, size=(600, 400))
    assert piece[200, 100].argmax() == 0
    assert piece[200, 500].argmax() == 2


def test_a_sensor_without_filters_and_a_negative_turned_round() -> None:
    mosaic = np.tile(np.linspace(100, 4000, 600).astype(np.uint16), (400, 1))
    raw = raw_of(mosaic, (1, 1, 1, 1))
    lies, turned = (detail(raw, (0.5, 0.5), inverted, grey=True, size=(600, 400)) for inverted in (False, True))
    assert lies[0, 30, 0] < lies[0, 570, 0]
    assert turned[0, 30, 0] > turned[0, 570, 0]
    assert np.all(lies.astype(int) + turned == 255)


def test_one_pixel_is_one_pixel_as_libraw_has_it(tmp_path: Path) -> None:
    with Scene(SceneSpec(megapixels=2), lambda: 0.0) as scene:
        scene.lay(1)
        scene.prepare()
        mosaic, small = scene.expose(10.0, 1 / 30, 8.0, 100), scene.preview(10.0, 960)
    meta = ShotMeta(Fraction(1, 30), 8.0, 100, datetime(2026, 3, 1, 12), "RS0000001")
    path = tmp_path / "a.dng"
    path.write_bytes(encode_dng(mosaic, meta, small, "none"))
    ours = detail(open_raw(path), (0.5, 0.5), inverted=False, grey=True, size=(400, 300))[:, :, 1].astype(float)
    with rawpy.imread(str(path)) as raw:
        whole = raw.postprocess(
            demosaic_algorithm=rawpy.DemosaicAlgorithm.LINEAR, no_auto_bright=True, output_bps=16, user_flip=0,
            gamma=(1, 1), use_camera_wb=False, user_wb=[1, 1, 1, 1], output_color=rawpy.ColorSpace.raw,
        )  # fmt: skip
    height, width = whole.shape[:2]
    theirs = np.log2(np.maximum(whole[:, :, 1].astype(float), 16))

    def likeness(dx: int, dy: int) -> float:
        top, left = (height - 300) // 2 + dy, (width - 400) // 2 + dx
        cut = theirs[top : top + 300, left : left + 400]
        return float(np.corrcoef(cut.ravel(), ours.ravel())[0, 1])

    found = {(dx, dy): likeness(dx, dy) for dx in (-2, 0, 2) for dy in (-2, 0, 2)}
    assert max(found, key=lambda at: found[at]) == (0, 0), "the same place to the pixel"
    assert found[0, 0] > 0.98


def test_spots_lie_inside_the_picture_and_turn_with_it() -> None:
    corners = [(0.2, 0.1), (0.8, 0.1), (0.8, 0.9), (0.2, 0.9)]
    assert spot_of(corners, "middle") == pytest.approx((0.5, 0.5))
    assert spot_of(corners, "top-left") == pytest.approx((0.26, 0.18))
    assert spot_of(corners, "bottom-right") == pytest.approx((0.74, 0.82))
    assert spot_of((), "top-right") == pytest.approx((0.9, 0.1)), "without corners, the whole sensor"


def test_at_the_edge_it_is_moved_inwards_and_a_small_sensor_is_shown_whole() -> None:
    raw = raw_of(np.full((200, 300), 900, np.uint16), (0, 1, 1, 2))
    for spot in SPOTS:
        assert detail(raw, spot_of((), spot), False, False).shape == (200, 300, 3)
    assert detail(raw, (1.0, 1.0), False, False, size=(100, 80)).shape == (80, 100, 3)
