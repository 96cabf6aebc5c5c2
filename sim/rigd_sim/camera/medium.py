"""Where a card keeps its bytes: in memory, or as files in a folder when a run would fill the memory."""

from __future__ import annotations

import mmap
from pathlib import Path
from typing import Protocol


class Medium(Protocol):
    def keep(self, handle: int, data: memoryview) -> memoryview:
        """Keep the bytes and return a view of them that stays good until `drop`."""

    def drop(self, handle: int) -> None:
        """Forget them."""


class InMemory:
    """The default: a real card shares no disk with the host, so neither does this one."""

    def keep(self, handle: int, data: memoryview) -> memoryview:
        return data

    def drop(self, handle: int) -> None:
        return


class InFolder:
    """One file a picture, mapped: the bytes live in the page cache and may leave it."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder

    def keep(self, handle: int, data: memoryview) -> memoryview:
        path = self._path(handle)
        path.write_bytes(data)
        with path.open("rb") as file:
            return memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ))

    def drop(self, handle: int) -> None:
        self._path(handle).unlink(missing_ok=True)

    def _path(self, handle: int) -> Path:
        return self._folder / f"{handle:08}.bin"
