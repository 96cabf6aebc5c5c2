"""How many frames still fit."""

from __future__ import annotations

from collections import deque
from enum import StrEnum
from pathlib import Path

from msgspec import Struct

from rigd.store.disk import Disk

LOW_FRAMES = 200
DISARM_FRAMES = 20
# Before the first file: 60 megapixels of 16 bits, the largest raw that is common (common practice, no source).
_UNKNOWN_BYTES = 120_000_000
# The final name, its temporary name, and a retake now and then.
_INODES_A_FRAME = 3
_REMEMBERED = 20


class Level(StrEnum):
    OK = "ok"
    LOW = "low"
    DISARM = "disarm"


class Room(Struct, frozen=True):
    """Free room for this user on the volume of the job's folder. `free_inodes` None where the volume has no such limit;
    `frames_left` is estimated from `frame_bytes`, the largest of the last files."""

    free_bytes: int
    free_inodes: int | None
    frame_bytes: int
    frames_left: int
    level: Level


class Gauge:
    """Remembers the sizes of the last files and measures what still fits."""

    def __init__(self) -> None:
        self._sizes: deque[int] = deque(maxlen=_REMEMBERED)

    def note(self, size: int) -> None:
        """One more file was stored."""
        self._sizes.append(size)

    def read(self, disk: Disk, folder: Path) -> Room:
        """Measure now. Raises OSError."""
        volume = disk.volume(folder)
        free = volume.f_bavail * volume.f_frsize
        inodes = volume.f_favail if volume.f_files else None  # btrfs and others report 0 inodes in all
        each = max(1, max(self._sizes, default=_UNKNOWN_BYTES))
        left = free // each if inodes is None else min(free // each, inodes // _INODES_A_FRAME)
        return Room(free, inodes, each, left, _level(left))


def _level(frames: int) -> Level:
    if frames < DISARM_FRAMES:
        return Level.DISARM
    return Level.LOW if frames < LOW_FRAMES else Level.OK
