from __future__ import annotations

import os
from pathlib import Path

import pytest

from rigd.drivers.camera.disk import create, room_for, writes
from rigd.errors import DiskFaulty, DiskFull


def test_a_file_is_made_once(tmp_path: Path) -> None:
    os.close(create(tmp_path / "part"))
    with pytest.raises(DiskFaulty, match="exists"):
        create(tmp_path / "part")


def test_room_is_looked_for_under_the_folder(tmp_path: Path) -> None:
    room_for(tmp_path / "part", 1)
    with pytest.raises(DiskFull, match="bytes are free"):
        room_for(tmp_path / "part", 1 << 60)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a device that is always full")
def test_a_full_disk_is_told_from_a_dead_camera() -> None:
    """/dev/full answers every write with ENOSPC: full(4)."""
    descriptor = os.open("/dev/full", os.O_WRONLY)
    try:
        with pytest.raises(DiskFull, match="No space left"):
            writes(descriptor)
    finally:
        os.close(descriptor)


def test_a_descriptor_that_cannot_be_written_is_faulty(tmp_path: Path) -> None:
    (tmp_path / "part").touch()
    descriptor = os.open(tmp_path / "part", os.O_RDONLY)
    try:
        with pytest.raises(DiskFaulty):
            writes(descriptor)
    finally:
        os.close(descriptor)


def test_a_healthy_disk_passes(tmp_path: Path) -> None:
    descriptor = create(tmp_path / "part")
    writes(descriptor)
    os.close(descriptor)
