"""Raw files are decoded once, exactly, and everything else is refused with a plain word."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest

from rigd.errors import RawUnreadable
from rigd.imaging import open_raw
from rigd_sim.rawfile import ShotMeta, encode_dng

X_TRANS = (1, 1, 0, 1, 1, 2, 1, 1, 2, 1, 1, 0, 2, 0, 1, 0, 2, 1, 1, 1, 2, 1, 1, 0, 1, 1, 0, 1, 1, 2, 0, 2, 1, 2, 0, 1)


@pytest.fixture
def mosaic():
    return np.random.default_rng(7).integers(500, 16384, (1152, 1728)).astype(np.uint16)


def a_file(folder: Path, mosaic, compression="none") -> Path:
    meta = ShotMeta(Fraction(1, 60), 8.0, 100, datetime(2026, 3, 4, 5, 6, 7), "S1")
    path = folder / "a.dng"
    path.write_bytes(encode_dng(mosaic, meta, np.zeros((64, 96, 3), np.uint8), compression))
    return path


@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
def test_pixels_come_back_exactly(tmp_path, mosaic, compression):
    raw = open_raw(a_file(tmp_path, mosaic, compression))
    assert np.array_equal(raw.mosaic, mosaic)
    assert (raw.pattern, raw.black, raw.white, raw.mono) == ((0, 1, 1, 2), (512.0,) * 4, 16383.0, False)


def test_the_shot_is_told_by_the_file(tmp_path, mosaic):
    raw = open_raw(a_file(tmp_path, mosaic))
    assert raw.seconds == pytest.approx(1 / 60)
    assert (raw.f_number, raw.iso, raw.taken) == (8.0, 100.0, datetime(2026, 3, 4, 5, 6, 7))


def test_the_mosaic_outlives_everything_but_itself(tmp_path, mosaic):
    raw = open_raw(a_file(tmp_path, mosaic))
    kept, raw.mosaic[0, 0] = raw.mosaic, 1234
    assert kept[0, 0] == 1234


@pytest.mark.parametrize("pattern", [(0, 1, 1, 2), (1, 0, 2, 1), (1, 2, 0, 1), (2, 1, 1, 0)])
def test_every_order_of_the_colour_cell(tmp_path, plain_dng, mosaic, pattern):
    assert open_raw(plain_dng(tmp_path / "p.dng", mosaic, pattern)).pattern == pattern


def test_a_file_without_time_or_iso_says_so(tmp_path, plain_dng, mosaic):
    raw = open_raw(plain_dng(tmp_path / "p.dng", mosaic))
    assert (raw.taken, raw.iso) == (None, 0.0)


def test_a_sensor_without_colour_filters(tmp_path, plain_dng, mosaic):
    raw = open_raw(plain_dng(tmp_path / "m.dng", mosaic, mono=True))
    assert raw.mono
    assert raw.pattern == (1, 1, 1, 1)
    assert np.array_equal(raw.mosaic, mosaic)


def test_a_pattern_of_six_is_refused(tmp_path, plain_dng, mosaic):
    with pytest.raises(RawUnreadable, match="do not repeat every two pixels"):
        open_raw(plain_dng(tmp_path / "x.dng", mosaic[:252, :384], X_TRANS))


@pytest.mark.parametrize("share", [0.0, 0.001, 0.3, 0.7, 0.999])
@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
def test_truncated_files_are_unreadable(tmp_path, mosaic, share, compression):
    path = a_file(tmp_path, mosaic, compression)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(RawUnreadable):
        open_raw(path)


def test_jpegs_text_folders_and_nothing_are_unreadable(tmp_path):
    (tmp_path / "text.dng").write_text("This is a letter, not a picture. " * 200)
    cv2.imwrite(str(tmp_path / "only.jpg"), np.zeros((80, 120, 3), np.uint8))
    for name in ("text.dng", "only.jpg", ".", "missing.dng"):
        with pytest.raises(RawUnreadable):
            open_raw(tmp_path / name)
