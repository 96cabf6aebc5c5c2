"""`rigd judge` on what other cameras write: no colour filters, 12, 14 and 16 bits, files cropped to the picture.

Written with an independent library (tifffile); each must get a judgement or a plain word, never a traceback."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from click.testing import CliRunner
from numpy.typing import NDArray

from rigd.commands import cli
from rigd_sim.scene import Scene, SceneSpec

BLACK, WHITE = 512.0, 16383.0


@pytest.fixture(scope="module")
def mosaic() -> NDArray[np.uint16]:
    with Scene(SceneSpec(megapixels=2, script="plain"), lambda: 0.0) as scene:
        scene.lay(1)
        scene.prepare()
        return scene.expose(9.0, 1 / 30, 8.0, 100)


def _dng(path: Path, mosaic: NDArray[np.uint16], black: int, white: int, mono: bool = False) -> Path:
    unit = tuple(x for i in range(9) for x in ((1, 1) if i % 4 == 0 else (0, 1)))
    tags = [(50706, "B", 4, bytes([1, 4, 0, 0]), True), (50708, "s", 0, "Plain", True)]
    tags += [(50714, "H", 1, black, True), (50717, "H", 1, white, True), (33434, "2I", 1, (1, 30), True)]
    if not mono:
        tags += [(33421, "H", 2, (2, 2), True), (33422, "B", 4, bytes((0, 1, 1, 2)), True)]
        tags += [(50721, "2i", 9, unit, True), (50728, "2I", 3, (1, 1) * 3, True)]
    tifffile.imwrite(path, mosaic, photometric=1 if mono else 32803, extratags=tags, metadata=None)
    if mono:
        with tifffile.TiffFile(path, mode="r+b") as file:
            file.pages[0].tags[262].overwrite(34892)
    return path


def _judged(path: Path) -> dict[str, object]:
    done = CliRunner().invoke(cli, ["judge", "--json", str(path)])
    assert done.exit_code == 0, done.output
    (found,) = json.loads(done.output)
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize(("black", "white"), [(64, 4095), (512, 16383), (1024, 65535)], ids=["12", "14", "16 bits"])
def test_other_depths_give_the_same_levels(mosaic: NDArray[np.uint16], tmp_path: Path, black: int, white: int) -> None:
    scaled = np.rint((mosaic - BLACK) / (WHITE - BLACK) * (white - black) + black)
    found = _judged(_dng(tmp_path / "a.dng", np.clip(scaled, 0, 65535).astype(np.uint16), black, white))
    plain = _judged(_dng(tmp_path / "b.dng", mosaic, 512, 16383))
    assert found["film"] == plain["film"] == "picture"
    assert found["level_stops"] == pytest.approx(plain["level_stops"], abs=0.02)


def test_a_sensor_without_colour_filters_is_judged(mosaic: NDArray[np.uint16], tmp_path: Path) -> None:
    grey = np.repeat(np.repeat(mosaic[0::2, 1::2], 2, axis=0), 2, axis=1)
    found = _judged(_dng(tmp_path / "grey.dng", grey, 512, 16383, mono=True))
    assert (found["film"], found["readable"]) == ("picture", True)


def test_a_file_cropped_to_the_picture_is_judged_without_corners(mosaic: NDArray[np.uint16], tmp_path: Path) -> None:
    height, width = mosaic.shape
    inner = mosaic[height // 4 : -(height // 4), width // 3 : -(width // 3)]
    found = _judged(_dng(tmp_path / "cropped.dng", inner.copy(), 512, 16383))
    assert found["film"] == "picture"
    assert found["corners"] is None
