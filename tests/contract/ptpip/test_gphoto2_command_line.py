"""The same camera driven by the command-line client of libgphoto2: an older library, somebody else's program."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import cv2
import pytest
import rawpy

from rigd_sim.control.start import SimulatedCamera

CLIENT = shutil.which("gphoto2")
pytestmark = [
    pytest.mark.gphoto2_cli,
    pytest.mark.skipif(CLIENT is None, reason="the program gphoto2 is not installed (Debian package gphoto2)"),
]

Run = Callable[..., str]


@pytest.fixture
def run(camera: SimulatedCamera, tmp_path: Path) -> Run:
    """Runs one command in an empty folder and returns all that it printed; its exit code must be 0."""
    environment = os.environ | {"LC_ALL": "C", "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    (tmp_path / "work").mkdir()

    def one(*arguments: str) -> str:
        command = [str(CLIENT), "--port", f"ptpip:{camera.address}", "--camera", "PTP/IP Camera", *arguments]
        done = subprocess.run(
            command, cwd=tmp_path / "work", env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True,
            timeout=20, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return done.stdout + done.stderr

    return one


@pytest.fixture(autouse=True)
def _empty_card(camera: SimulatedCamera) -> None:
    camera.hand.call("change_card")


def current(text: str) -> str:
    return next(line.removeprefix("Current: ") for line in text.splitlines() if line.startswith("Current: "))


def on_card(camera: SimulatedCamera) -> list[dict[str, object]]:
    pictures: list[dict[str, object]] = camera.hand.truth()["camera"]["pictures"]
    return pictures


def test_settings_are_listed(run: Run) -> None:
    listed = run("--list-config").split()
    for name in ("shutterspeed", "f-number", "expprogram", "focusmode"):
        assert f"/main/capturesettings/{name}" in listed
    assert {"/main/imgsettings/iso", "/main/status/batterylevel", "/main/status/serialnumber"} <= set(listed)


@pytest.mark.parametrize(
    ("asked", "shown"), [("0.0025s", "0.0025s"), ("1/60", "0.0167s"), ("2", "2.0000s"), ("1/125", "0.0080s")]
)
def test_the_shutter_is_set_and_read(run: Run, asked: str, shown: str) -> None:
    """By value: a plain --set-config would take 2 for the number of a choice."""
    run("--set-config-value", f"shutterspeed={asked}")
    assert current(run("--get-config", "shutterspeed")) == shown


def test_a_picture_is_taken_fetched_and_deleted(run: Run, camera: SimulatedCamera, tmp_path: Path) -> None:
    run("--capture-image-and-download", "--filename", "one.dng")
    with rawpy.imread(str(tmp_path / "work" / "one.dng")) as raw:
        assert raw.raw_image.shape == (1152, 1728)
    assert on_card(camera) == []


def test_kept_pictures_are_listed_and_fetched_as_they_lie_on_the_card(
    run: Run, camera: SimulatedCamera, tmp_path: Path
) -> None:
    run("--capture-image")
    run("--capture-image-and-download", "--keep")
    pictures = on_card(camera)
    assert len(pictures) == 2
    listed = run("--list-files")
    assert all(f"{picture['name']} " in listed for picture in pictures)
    run("--get-all-files", "--force-overwrite")
    for picture in pictures:
        data = (tmp_path / "work" / str(picture["name"])).read_bytes()
        assert hashlib.sha256(data).hexdigest() == picture["sha256"]


def test_live_view(run: Run, tmp_path: Path) -> None:
    run("--capture-preview")
    (view,) = (tmp_path / "work").iterdir()
    picture = cv2.imread(str(view))
    assert picture is not None
    assert picture.shape == (640, 960, 3)


def test_storage_and_summary(run: Run) -> None:
    assert "totalcapacity=2097152 KB" in run("--storage-info")
    assert "Serial Number: RS0000001" in run("--summary")


def test_a_connection_that_breaks_is_told_and_harms_no_other(run: Run, camera: SimulatedCamera) -> None:
    """The client tells it on standard error alone: its exit code is 0 all the same."""
    camera.hand.fault("drop", "capture")
    assert "ERROR: Could not capture" in run("--capture-image")
    assert "New file is in location" in run("--capture-image")
