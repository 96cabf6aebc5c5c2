"""Reading back: from the medium, and any difference is found."""

from __future__ import annotations

import errno
import os
import subprocess
from pathlib import Path

import pytest
from tests.unit.store.stores import RAW, SHA, FailingDisk, files, spooled

from rigd.errors import DiskFaulty, FileChanged
from rigd.store import Store


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    store = Store(tmp_path)
    return tmp_path / store.secure(spooled(store), "Pier_7", "a.dng", None).path


def test_what_was_stored_is_found_right(tmp_path: Path, kept: Path) -> None:
    Store(tmp_path).verify("Pier_7/a.dng", SHA, len(RAW))
    sum_ = subprocess.run(["sha256sum", kept], capture_output=True, text=True, check=True).stdout
    assert sum_.split()[0] == SHA


@pytest.mark.parametrize(
    "change",
    [
        lambda path: path.write_bytes(RAW[:-1]),
        lambda path: path.write_bytes(RAW + b"\0"),
        lambda path: path.write_bytes(RAW[:1000] + bytes([RAW[1000] ^ 1]) + RAW[1001:]),
        lambda path: path.write_bytes(b""),
        lambda path: path.unlink(),
        lambda path: (path.unlink(), path.parent.rmdir()),
        lambda path: (path.unlink(), path.parent.rmdir(), path.parent.write_bytes(b"a file now")),
    ],
)
def test_any_difference_is_found(tmp_path: Path, kept: Path, change: object) -> None:
    change(kept)  # type: ignore[operator]
    with pytest.raises(FileChanged):
        Store(tmp_path).verify("Pier_7/a.dng", SHA, len(RAW))


def test_every_call_that_fails_is_the_disk_s_fault_and_changes_nothing(tmp_path: Path, kept: Path) -> None:
    disk = FailingDisk()
    Store(tmp_path, disk).verify("Pier_7/a.dng", SHA, len(RAW))
    assert disk.calls[:2] == ["open", "forget"]
    for at in range(len(disk.calls)):
        with pytest.raises(DiskFaulty):
            Store(tmp_path, FailingDisk(at, errno.EIO)).verify("Pier_7/a.dng", SHA, len(RAW))
    assert files(tmp_path) == {"Pier_7/a.dng": RAW}


def test_forgetting_takes_the_file_out_of_memory(tmp_path: Path, kept: Path) -> None:
    """fincore(1) counts a file's bytes in the page cache."""
    if os.statvfs(tmp_path).f_fsid == 0 or not _in_memory(kept):
        pytest.skip("this volume has no page cache of its own, or fincore(1) is missing")
    disk = FailingDisk()
    descriptor = disk.open(kept, os.O_RDONLY)
    disk.forget(descriptor)
    disk.close(descriptor)
    assert _in_memory(kept) == 0


def _in_memory(path: Path) -> int:
    try:
        said = subprocess.run(["fincore", "-bno", "RES", path], capture_output=True, text=True, check=True)
    except FileNotFoundError:
        return 0
    return int(said.stdout)
