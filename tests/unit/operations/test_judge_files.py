"""`rigd judge` on files: the simulated camera's, and all kinds of files that are no raw of ours."""

from __future__ import annotations

import json
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest
from click.testing import CliRunner

from rigd.commands import cli
from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene import Scene, SceneSpec

KEYS = {
    "file", "film", "take", "why", "level_stops", "off_by_stops", "clipped_pct", "offset_mm", "rotation_deg",
    "px_per_mm", "corners", "sharpness", "ms",
}  # fmt: skip


@pytest.fixture(scope="module")
def raw_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with Scene(SceneSpec(megapixels=2, script="plain"), lambda: 0.0) as scene:
        scene.lay(1)
        scene.prepare()
        mosaic, small = scene.expose(9.0, 1 / 30, 8.0, 100), scene.preview(9.0)
    meta = ShotMeta(Fraction(1, 30), 8.0, 100, datetime(2026, 3, 1, 12), "RS0000001")
    path = tmp_path_factory.mktemp("raw") / "frame.dng"
    path.write_bytes(encode_dng(mosaic, meta, small, "none"))
    return path


def _judged(*words: str | Path, code: int = 0) -> list[dict[str, object]]:
    done = CliRunner().invoke(cli, ["judge", "--json", *map(str, words)])
    assert done.exit_code == code, done.output
    found: list[dict[str, object]] = json.loads(done.output)
    return found


def test_a_raw_file_is_judged_without_anything_else(raw_file: Path) -> None:
    (found,) = _judged(raw_file)
    assert set(found) >= KEYS
    assert (found["film"], found["readable"]) == ("picture", True)
    corners = found["corners"]
    assert isinstance(corners, list)
    assert len(corners) == 4


def test_words_for_people(raw_file: Path) -> None:
    done = CliRunner().invoke(cli, ["judge", str(raw_file)])
    assert done.exit_code == 0
    assert "stops off the aim" in done.output


@pytest.mark.parametrize("share", [0.0, 0.01, 0.5, 0.95])
def test_a_cut_file_gets_a_word_and_no_traceback(share: float, raw_file: Path, tmp_path: Path) -> None:
    whole = raw_file.read_bytes()
    cut = tmp_path / "cut.dng"
    cut.write_bytes(whole[: int(len(whole) * share)])
    (found,) = _judged(cut, code=1)
    assert found["readable"] is False
    assert "cut.dng" in str(found["why"])


def test_other_files_get_a_word(tmp_path: Path) -> None:
    picture = tmp_path / "picture.jpg"
    cv2.imwrite(str(picture), np.full((40, 60, 3), 128, np.uint8))
    text = tmp_path / "text.dng"
    text.write_text("no picture")
    found = _judged(picture, text, tmp_path / "missing.dng", tmp_path, code=1)
    assert [f["readable"] for f in found] == [False] * 4
    assert all(f["why"] for f in found)
