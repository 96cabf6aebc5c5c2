"""Each fault of the simulated camera, and what libgphoto2 makes of it. Measured with python-gphoto2 2.6.3.

The library reports a peer that does not answer as -7 or as -10, changing from run to run.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from tests.contract.ptpip.gphoto_user import GphotoUser

from rigd_sim.control.start import SimulatedCamera

SILENT = (-7, -10)
LIMIT = 2.5  # s, the library's own limit of a read


def works_again(user: GphotoUser) -> None:
    """Leaving and starting anew on the same object is all it takes."""
    user.do("exit")
    user.do("init")
    assert user.do("get", name="iso")["value"]


def fetch(user: GphotoUser, path: str, folder: Path) -> bytes:
    user.do("download", path=path, to=str(folder / "picture.dng"))
    return (folder / "picture.dng").read_bytes()


def card_hash(camera: SimulatedCamera) -> object:
    return camera.hand.truth()["camera"]["pictures"][-1]["sha256"]


def card_count(camera: SimulatedCamera) -> int:
    return len(camera.hand.truth()["camera"]["pictures"])


def test_a_connection_dropped_in_a_download(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    path = user.shoot()
    camera.hand.fault("drop", "download", after_bytes=2_000_000)
    error = user.failure("download", path=path, to=str(tmp_path / "cut.dng"))
    assert (error.code, error.seconds < 1) == (-1, True)
    assert (tmp_path / "cut.dng").stat().st_size < 4_000_000
    works_again(user)
    assert hashlib.sha256(fetch(user, path, tmp_path)).hexdigest() == card_hash(camera)


@pytest.mark.parametrize(("performed", "pictures"), [(True, 1), (False, 0)])
def test_a_connection_dropped_at_the_capture(
    user: GphotoUser, camera: SimulatedCamera, performed: bool, pictures: int
) -> None:
    """Whether the shutter opened cannot be known from the error: only the card tells."""
    camera.hand.fault("drop", "capture", performed=performed)
    error = user.failure("trigger")
    assert (error.code, error.seconds < 1) == (-1, True)
    works_again(user)
    user.do("events", until="complete", seconds=0.3)
    assert card_count(camera) == pictures


def test_a_download_that_stalls(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    path = user.shoot()
    camera.hand.fault("stall", "download", after_bytes=2_000_000)
    error = user.failure("download", path=path, to=str(tmp_path / "cut.dng"))
    assert error.code in SILENT
    assert error.seconds == pytest.approx(LIMIT, abs=0.5)
    camera.hand.clear()
    works_again(user)


@pytest.mark.parametrize(("at", "tries"), [("connect", 1), ("init", 3)])
def test_a_camera_that_hangs_at_the_start(user: GphotoUser, camera: SimulatedCamera, at: str, tries: int) -> None:
    """The library tries to open the session three times, 2.5 s each."""
    user.do("exit")
    camera.hand.fault("freeze", at)
    error = user.failure("init")
    assert error.code in SILENT
    assert error.seconds == pytest.approx(tries * LIMIT, abs=0.6)
    camera.hand.clear()
    works_again(user)


def test_a_camera_that_hangs_at_the_capture(user: GphotoUser, camera: SimulatedCamera) -> None:
    camera.hand.fault("freeze", "capture")
    error = user.failure("trigger")
    assert error.code in SILENT
    assert error.seconds == pytest.approx(LIMIT, abs=0.5)
    camera.hand.clear()
    works_again(user)


def test_a_camera_that_hangs_when_a_setting_is_read(user: GphotoUser, camera: SimulatedCamera) -> None:
    camera.hand.fault("freeze", "get_config")
    error = user.failure("get", name="shutterspeed")
    assert error.code == -2
    assert error.seconds == pytest.approx(LIMIT, abs=0.5)
    camera.hand.clear()
    works_again(user)


def test_a_hang_while_waiting_for_events_is_not_seen(user: GphotoUser, camera: SimulatedCamera) -> None:
    user.do("trigger")
    camera.hand.fault("freeze", "now")
    waited = user.do("events", until="complete", seconds=0.5)
    assert waited == []
    camera.hand.clear()
    assert [kind for kind, _ in user.do("events", until="complete", seconds=5)] == ["file", "complete"]


def test_a_camera_that_is_off(user: GphotoUser, camera: SimulatedCamera) -> None:
    user.do("exit")
    camera.hand.call("power", on=False)
    error = user.failure("init")
    assert (error.code, error.seconds < 0.2) == (-7, True)
    camera.hand.call("power", on=True)
    user.do("init")
    assert user.do("get", name="iso")["value"]


@pytest.mark.parametrize("at", ["capture", "download", "liveview"])
def test_busy(user: GphotoUser, camera: SimulatedCamera, at: str, tmp_path: Path) -> None:
    """Said at once, not tried again; the next try works."""
    path = user.shoot()
    camera.hand.fault("busy", at)
    what, args = {
        "capture": ("trigger", {}),
        "download": ("download", {"path": path, "to": str(tmp_path / "x")}),
        "liveview": ("preview", {"to": str(tmp_path / "x")}),
    }[at]
    error = user.failure(what, **args)
    assert (error.code, error.seconds < 1) == (-110, True)
    user.do(what, **args)
    user.do("events", until="complete", seconds=2)


def test_busy_at_the_start(user: GphotoUser, camera: SimulatedCamera) -> None:
    user.do("exit")
    camera.hand.fault("busy", "init", op=0x1001)
    assert user.failure("init").code == -110
    works_again(user)


@pytest.mark.parametrize(
    ("code", "seen", "text"),
    [
        (0x200C, -1, "PTP Store Full"), (0x2005, -6, "PTP Operation Not Supported"),
        (0x2002, -1, "PTP General Error"), (0x2013, -1, "PTP Store Not Available"),
    ],
)  # fmt: skip
def test_refusals_of_a_capture(user: GphotoUser, camera: SimulatedCamera, code: int, seen: int, text: str) -> None:
    """A full card is -1 like any failure: the reason is only in the library's words."""
    camera.hand.fault("answer", "capture", code=code)
    error = user.failure("trigger")
    assert (error.code, error.texts) == (seen, [text])


def test_a_card_that_turns_out_full_after_the_exposure(user: GphotoUser, camera: SimulatedCamera) -> None:
    camera.hand.fault("card_full", "picture")
    user.do("trigger")
    events = user.do("events", until="unknown", seconds=3)
    assert [kind for kind, _ in events] == ["unknown"]
    assert "400a" in str(events)
    assert card_count(camera) == 0


def test_an_answer_that_comes_too_late_puts_the_connection_out_of_step(
    user: GphotoUser, camera: SimulatedCamera
) -> None:
    """Each later answer is taken for that of the operation before: only a new start helps."""
    camera.hand.fault("stall", "capture", seconds=3.2)
    error = user.failure("trigger")
    assert error.code in SILENT
    assert error.seconds == pytest.approx(LIMIT, abs=0.5)
    assert [user.failure("get", name="iso").code for _ in range(3)] == [-2, -2, -2]
    works_again(user)
    assert card_count(camera) == 1


@pytest.mark.parametrize(("kind", "kept"), [("busy", "100"), ("drop", "200"), ("stall", "200")])
def test_a_set_that_fails_may_have_worked(user: GphotoUser, camera: SimulatedCamera, kind: str, kept: str) -> None:
    user.do("set", name="iso", value="100")
    camera.hand.fault(kind, "set_config")
    assert user.failure("set", name="iso", value="200").code == -2
    camera.hand.clear()
    works_again(user)
    assert user.do("get", name="iso")["value"] == kept


@pytest.mark.parametrize("kind", ["busy", "drop", "answer"])
def test_a_delete_that_fails_is_reported_as_done(user: GphotoUser, camera: SimulatedCamera, kind: str) -> None:
    """The library swallows every failure of a delete: only the card's own list is proof."""
    path = user.shoot()
    camera.hand.fault(kind, "delete", performed=False)
    user.do("delete", path=path)
    assert card_count(camera) == 1
    works_again(user)
    assert user.do("files", folder=path.rsplit("/", 1)[0]) == [path.rsplit("/", 1)[1]]


@pytest.mark.parametrize(
    ("fault", "kinds"),
    [
        ("lost_event", ["complete"]),
        ("late_event", ["complete", "file"]),
        ("duplicate_event", ["file", "file", "complete"]),
    ],
)
def test_events_lost_late_and_double(user: GphotoUser, camera: SimulatedCamera, fault: str, kinds: list[str]) -> None:
    camera.hand.fault(fault, "event", seconds=0.5)
    user.do("trigger")
    events = user.do("events", until="none", seconds=1.2)
    assert [kind for kind, _ in events] == kinds
    assert card_count(camera) == 1


def test_an_event_connection_that_breaks(user: GphotoUser, camera: SimulatedCamera) -> None:
    camera.hand.fault("drop", "event")
    user.do("trigger")
    assert user.failure("events", until="file", seconds=3).code == -1
    works_again(user)
    assert card_count(camera) == 1


def test_garbage_instead_of_an_answer(user: GphotoUser, camera: SimulatedCamera) -> None:
    """A packet of an unknown type: the call fails at once, and the connection goes on."""
    camera.hand.fault("garble", "capture")
    error = user.failure("trigger")
    assert (error.code, error.seconds < 1) == (-1, True)
    user.do("events", until="complete", seconds=3)
    assert user.do("get", name="iso")["value"]


def test_an_old_picture_under_a_new_name(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    first = fetch(user, user.shoot(), tmp_path)
    camera.hand.fault("stale_picture", "picture")
    second = user.shoot()
    assert second.endswith(".DNG")
    assert fetch(user, second, tmp_path) == first
    assert fetch(user, user.shoot(), tmp_path) != first


@pytest.mark.parametrize("size", [1_500_000, 3_000_000])
def test_a_transfer_cut_short_is_reported_as_done(
    user: GphotoUser, camera: SimulatedCamera, tmp_path: Path, size: int
) -> None:
    """The library compares nothing: the size in the file's info is the only warning."""
    path = user.shoot()
    camera.hand.fault("short_transfer", "download", after_bytes=size)
    assert len(fetch(user, path, tmp_path)) == size
    assert user.do("info", path=path)["size"] > size
    assert hashlib.sha256(fetch(user, path, tmp_path)).hexdigest() == card_hash(camera)


def test_a_byte_changed_on_the_way(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    path = user.shoot()
    camera.hand.fault("corrupt_byte", "download", after_bytes=2_345_678)
    spoiled, good = fetch(user, path, tmp_path), fetch(user, path, tmp_path)
    assert [i for i in range(2_345_600, 2_345_700) if spoiled[i] != good[i]] == [2_345_678]
    assert len(spoiled) == len(good)
    assert hashlib.sha256(good).hexdigest() == card_hash(camera)


def test_a_file_cut_short_on_the_card(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    camera.hand.fault("short_file", "picture", after_bytes=1_000_000)
    path = user.shoot()
    assert user.do("info", path=path)["size"] == len(fetch(user, path, tmp_path)) == 1_000_000


def test_a_wrong_time_in_the_file(user: GphotoUser, camera: SimulatedCamera) -> None:
    right = user.do("info", path=user.shoot())["mtime"]
    camera.hand.fault("wrong_time", "picture", seconds=-7200)
    wrong = user.do("info", path=user.shoot())["mtime"]
    assert right - wrong == pytest.approx(7200, abs=10)
