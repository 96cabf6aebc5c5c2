"""How many frames still fit, and the ballast."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from types import SimpleNamespace

import pytest
from tests.unit.store.small_disk import small_disk
from tests.unit.store.stores import FailingDisk, spooled

from rigd import paths
from rigd.errors import DiskFull
from rigd.store import Ballast, Disk, Level, Store


class Volume(Disk):
    """The real disk, with a volume of known size."""

    def __init__(self, free: int, inodes: int = 1 << 30, has_inodes: bool = True) -> None:
        self._numbers = SimpleNamespace(
            f_bavail=free // 4096, f_frsize=4096, f_favail=inodes, f_files=(1 << 31) if has_inodes else 0
        )

    def volume(self, path: Path) -> os.statvfs_result:
        return self._numbers  # type: ignore[return-value]


def used(tmp_path: Path, disk: Disk, sizes: list[int]) -> Store:
    store = Store(tmp_path, disk)
    for number, size in enumerate(sizes):
        store.secure(spooled(store, take_id=f"t-{number}", content=bytes(size)), "Pier_7", f"{number}.dng", None)
    return store


@pytest.mark.parametrize(
    ("frames", "level"),
    [(0, Level.DISARM), (19, Level.DISARM), (20, Level.LOW), (199, Level.LOW), (200, Level.OK), (10_000, Level.OK)],
)
def test_warned_under_200_frames_disarmed_under_20(tmp_path: Path, frames: int, level: Level) -> None:
    room = used(tmp_path, Volume(frames * 8192 + 4096), [8192]).room()
    assert (room.frames_left, room.level) == (frames, level)


def test_the_largest_of_the_last_twenty_counts(tmp_path: Path) -> None:
    store = used(tmp_path, Volume(1 << 30), [9000, 50_000] + [8000] * 18)
    assert store.room().frame_bytes == 50_000
    for number in range(2):
        part = spooled(store, take_id=f"u-{number}", content=bytes(8000))
        store.secure(part, "Pier_7", f"u{number}.dng", None)
    assert store.room().frame_bytes == 8000


def test_inodes_run_out_too_where_there_are_any(tmp_path: Path) -> None:
    assert used(tmp_path, Volume(1 << 40, inodes=59), [8192]).room().level is Level.DISARM
    room = used(tmp_path / "other", Volume(1 << 40, inodes=0, has_inodes=False), [8192]).room()
    assert (room.free_inodes, room.level) == (None, Level.OK)


def test_before_the_first_file_a_large_raw_is_assumed(tmp_path: Path) -> None:
    """120 MB: the uncompressed 60-megapixel raw that the speed goals are given for."""
    assert Store(tmp_path, Volume(24_000_000_000)).room().frames_left == 200


def test_the_numbers_are_those_of_the_real_volume(tmp_path: Path) -> None:
    with small_disk("8m") as root:
        store = used(root, Disk(), [1 << 20])
        assert store.room().frames_left == 7
        free = store.room().free_bytes
        ballast = Ballast(paths.ballast_file(root), Disk(), 4 << 20)
        ballast.reserve()
        assert free - store.room().free_bytes == pytest.approx(4 << 20, abs=64 << 10)
        with pytest.raises(DiskFull):
            Ballast(root / "second", Disk(), 4 << 20).reserve()
        assert not (root / "second").exists()
        assert ballast.release()
        assert not ballast.release()
        assert store.room().free_bytes == free


class Unable(Disk):
    """A volume that cannot reserve without writing."""

    def reserve(self, descriptor: int, size: int) -> bool:
        return False


@pytest.mark.parametrize("disk", [Disk(), Unable()])
def test_ballast_is_real_room(tmp_path: Path, disk: Disk) -> None:
    ballast = Ballast(tmp_path / "ballast", disk, 3 << 20)
    assert not ballast.held
    ballast.reserve()
    assert ballast.held
    assert (tmp_path / "ballast").stat().st_blocks * 512 >= 3 << 20
    ballast.reserve()
    with (tmp_path / "ballast").open("wb") as file:  # a file with a hole reserves nothing
        file.truncate(3 << 20)
    assert not ballast.held
    ballast.reserve()
    assert ballast.held


def test_ballast_that_cannot_be_had_leaves_nothing_behind(tmp_path: Path) -> None:
    counting = FailingDisk()
    Ballast(tmp_path / "all", counting, 1 << 20).reserve()
    for at in range(1, len(counting.calls)):
        with pytest.raises(DiskFull):
            Ballast(tmp_path / "ballast", FailingDisk(at, errno.ENOSPC), 1 << 20).reserve()
        assert not (tmp_path / "ballast").exists(), counting.calls[: at + 1]
