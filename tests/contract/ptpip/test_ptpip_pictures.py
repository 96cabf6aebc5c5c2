"""From the trigger to a file on the host, through libgphoto2."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import cv2
import exifread
import numpy as np
import pytest
import rawpy
from tests.contract.ptpip.gphoto_user import GphotoUser

from rigd_sim.control.start import SimulatedCamera, simulated_camera

FOLDER = "/store_00010001/DCIM/100RIGSM"


def on_card(camera: SimulatedCamera) -> list[dict[str, object]]:
    pictures: list[dict[str, object]] = camera.hand.truth()["camera"]["pictures"]
    return pictures


def test_a_picture_arrives_as_it_lies_on_the_card(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    path = user.shoot()
    target = tmp_path / "picture.dng"
    size = user.do("download", path=path, to=str(target))
    (card,) = on_card(camera)
    assert (size, path) == (card["size"], f"{FOLDER}/{card['name']}")
    assert hashlib.sha256(target.read_bytes()).hexdigest() == card["sha256"]


def test_the_file_opens_and_says_how_it_was_taken(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    camera.hand.call("clock", offset=-86_400.0)
    for name, value in {"shutterspeed": "1/30", "f-number": "f/11", "iso": "200"}.items():
        user.do("set", name=name, value=value)
    target = tmp_path / "picture.dng"
    user.do("download", path=user.shoot(), to=str(target))
    with rawpy.imread(str(target)) as raw:
        assert raw.raw_image.shape == (1152, 1728)
    with target.open("rb") as file:
        exif = exifread.process_file(file)
    assert [str(exif[f"EXIF {tag}"]) for tag in ("ExposureTime", "FNumber", "ISOSpeedRatings")] == ["1/30", "11", "200"]
    taken = datetime.strptime(str(exif["EXIF DateTimeOriginal"]), "%Y:%m:%d %H:%M:%S")
    assert (datetime.now() - taken).total_seconds() == pytest.approx(86_400, abs=10)
    camera.hand.call("clock", offset=0.0)


def test_a_longer_exposure_collects_more_light(user: GphotoUser, tmp_path: Path) -> None:
    """Twice the time, twice the signal above black; the bare lamp in the gate, short enough not to clip."""
    signals = []
    for value in ("1/1000", "1/500"):
        user.do("set", name="shutterspeed", value=value)
        user.do("download", path=user.shoot(), to=str(tmp_path / "picture.dng"))
        with rawpy.imread(str(tmp_path / "picture.dng")) as raw:
            signals.append(float(raw.raw_image.mean()) - raw.black_level_per_channel[0])
    assert signals[1] / signals[0] == pytest.approx(2, rel=0.05)


@pytest.mark.parametrize(("value", "seconds"), [("1/8", 0.125), ("1", 1.0), ("4", 4.0)])
def test_the_exposure_takes_its_time_and_the_answer_does_not(user: GphotoUser, value: str, seconds: float) -> None:
    user.do("set", name="shutterspeed", value=value)
    start = time.monotonic()
    user.do("trigger")
    assert user.seconds < 0.1
    events = user.do("events", until="complete", seconds=20)
    assert [kind for kind, _ in events] == ["file", "complete"]
    assert seconds <= time.monotonic() - start < seconds + 1.5


def test_a_second_trigger_during_an_exposure_is_busy(user: GphotoUser) -> None:
    user.do("set", name="shutterspeed", value="1")
    user.do("trigger")
    assert user.failure("trigger").code == -110
    events = user.do("events", until="complete", seconds=10)
    assert [kind for kind, _ in events] == ["file", "complete"]
    user.do("set", name="shutterspeed", value="1/125")


def test_facts_and_thumbnail_of_a_picture(user: GphotoUser, tmp_path: Path) -> None:
    path = user.shoot()
    info = user.do("info", path=path)
    assert isinstance(info, dict)
    assert (info["type"], info["width"], info["height"]) == ("image/x-adobe-dng", 1728, 1152)
    assert info["size"] == user.do("download", path=path, to=str(tmp_path / "picture.dng"))
    user.do("thumb", path=path, to=str(tmp_path / "thumb.jpg"))
    thumb = cv2.imread(str(tmp_path / "thumb.jpg"))
    assert thumb is not None
    assert thumb.shape == (107, 160, 3)


def test_deleting_takes_the_picture_off_the_card(user: GphotoUser, camera: SimulatedCamera) -> None:
    before = user.do("storage")
    paths = [user.shoot(), user.shoot()]
    user.do("delete", path=paths[0])
    assert user.do("files", folder=FOLDER) == [paths[1].rsplit("/", 1)[1]]
    assert len(on_card(camera)) == 1
    user.do("delete", path=paths[1])
    assert user.do("storage") == before


def test_the_card_is_listed_with_its_room(user: GphotoUser) -> None:
    (store,) = user.do("storage")
    assert (store["basedir"], store["capacitykbytes"]) == ("/store_00010001", 2048 * 1024)
    assert user.do("folders", folder="/") == ["store_00010001"]


def test_a_shot_from_the_body_itself_comes_as_an_unasked_file(user: GphotoUser, camera: SimulatedCamera) -> None:
    assert camera.hand.call("press") == "OK"
    events = user.do("events", until="complete", seconds=5)
    assert [kind for kind, _ in events] == ["file", "complete"]


def test_live_view_shows_pictures_that_change_with_the_exposure(user: GphotoUser, tmp_path: Path) -> None:
    means = []
    for value in ("1/2000", "1/500"):
        user.do("set", name="shutterspeed", value=value)
        user.do("preview", to=str(tmp_path / "view.jpg"))
        view = cv2.imread(str(tmp_path / "view.jpg"))
        assert view is not None
        assert view.shape == (640, 960, 3)
        means.append(float(np.mean(view)))
    assert means[1] > means[0] + 5


@pytest.fixture
def small_card() -> Iterator[SimulatedCamera]:
    """Room for two pictures of 4 MB, and names about to roll over."""
    with simulated_camera("--megapixels", "2", "--card-megabytes", "10", "--first-number", "9999") as started:
        yield started


def test_a_card_fills_up_and_names_roll_over(
    small_card: SimulatedCamera, tmp_path: Path, user_of: Callable[[SimulatedCamera], GphotoUser]
) -> None:
    user = user_of(small_card)
    paths = [user.shoot(), user.shoot()]
    assert [path.split("/", 3)[3] for path in paths] == ["100RIGSM/RIG_9999.DNG", "101RIGSM/RIG_0001.DNG"]
    full = user.failure("trigger")
    assert (full.code, full.texts) == (-1, ["PTP Store Full"])
    user.do("delete", path=paths[0])
    assert user.shoot().endswith("101RIGSM/RIG_0002.DNG")


@pytest.fixture(params=["--whole-files", "--compression=lossless-jpeg", "--card-folder=card"])
def other_camera(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[SimulatedCamera]:
    monkeypatch.chdir(tmp_path)
    with simulated_camera("--megapixels", "2", request.param) as started:
        yield started


def test_other_bodies_deliver_too(
    other_camera: SimulatedCamera, tmp_path: Path, user_of: Callable[[SimulatedCamera], GphotoUser]
) -> None:
    user = user_of(other_camera)
    user.do("download", path=user.shoot(), to=str(tmp_path / "picture.dng"))
    (card,) = on_card(other_camera)
    assert hashlib.sha256((tmp_path / "picture.dng").read_bytes()).hexdigest() == card["sha256"]
    with rawpy.imread(str(tmp_path / "picture.dng")) as raw:
        assert raw.raw_image.shape == (1152, 1728)


def exposure_of(user: GphotoUser, folder: Path) -> str:
    """One shot; the exposure time that its file tells."""
    user.do("download", path=user.shoot(), to=str(folder / "picture.dng"))
    with (folder / "picture.dng").open("rb") as file:
        return str(exifread.process_file(file)["EXIF ExposureTime"])


def test_out_of_manual_the_body_meters_for_itself(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    """Half the light, about twice the time: within two thirds of a stop, as the scale is in thirds."""
    user.do("set", name="shutterspeed", value="4")
    user.do("set", name="expprogram", value="A")
    bright = Fraction(exposure_of(user, tmp_path))
    camera.hand.lamp(True, level=0.5)
    dim = Fraction(exposure_of(user, tmp_path))
    camera.hand.lamp(True)
    assert bright < 1
    assert 1.5 < dim / bright < 3
    user.do("set", name="expprogram", value="M")
    user.do("set", name="shutterspeed", value="1/125")
    assert exposure_of(user, tmp_path) == "1/125"


def test_automatic_focus_delays_the_exposure(user: GphotoUser) -> None:
    user.do("set", name="focusmode", value="Automatic")
    start = time.monotonic()
    user.shoot()
    assert time.monotonic() - start > 0.4
    user.do("set", name="focusmode", value="Manual")


def test_a_lens_without_contacts_still_takes_pictures(
    user: GphotoUser, camera: SimulatedCamera, tmp_path: Path
) -> None:
    camera.hand.call("turn", setting="f_number", value=0)
    user.do("download", path=user.shoot(), to=str(tmp_path / "picture.dng"))
    with rawpy.imread(str(tmp_path / "picture.dng")) as raw:
        assert raw.raw_image.shape == (1152, 1728)
    camera.hand.call("turn", setting="f_number", value=800)
