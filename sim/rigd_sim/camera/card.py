"""The memory card: pictures under handles, in folders, up to its size."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from rigd_sim.camera.codes import ALL, Format
from rigd_sim.camera.datasets import ObjectInfo, StorageInfo
from rigd_sim.camera.medium import Medium
from rigd_sim.camera.names import ROOT

STORAGE = 0x00010001  # first physical, first logical store: ISO 15740


class CardFull(Exception):
    """No room for the file."""


class NoSuchObject(KeyError):
    """No object has this handle."""


@dataclass(frozen=True)
class Picture:
    """One new file: its bytes, and what ObjectInfo says of it."""

    folder: str
    name: str
    data: memoryview
    taken: datetime
    width: int
    height: int
    depth: int
    thumb: bytes
    thumb_width: int
    thumb_height: int


class Card:
    """Objects by handle; a handle is never used twice. Folders are objects too (associations)."""

    def __init__(self, capacity: int, medium: Medium) -> None:
        self._capacity = capacity
        self._medium = medium
        self._info: dict[int, ObjectInfo] = {}
        self._data: dict[int, memoryview] = {}
        self._thumbs: dict[int, bytes] = {}
        self._hashes: dict[int, str] = {}
        self._last = 0
        self._used = 0

    @property
    def free(self) -> int:
        """Bytes."""
        return self._capacity - self._used

    def add(self, picture: Picture) -> int:
        """Keep a picture and return its handle. Raises CardFull, and then keeps nothing."""
        if len(picture.data) > self.free:
            raise CardFull
        parent = self._folder(self._folder(ALL, ROOT, picture.taken), picture.folder, picture.taken)
        handle = self._next_handle()
        self._info[handle] = _describe(picture, parent, handle)
        self._data[handle] = self._medium.keep(handle, picture.data)
        self._thumbs[handle] = picture.thumb
        self._used += len(picture.data)
        return handle

    def info(self, handle: int) -> ObjectInfo:
        return self._info[self._known(handle)]

    def data(self, handle: int) -> memoryview:
        """The file's bytes; a folder has none."""
        return self._data.get(self._known(handle), memoryview(b""))

    def thumb(self, handle: int) -> bytes | None:
        return self._thumbs.get(self._known(handle))

    def sha256(self, handle: int) -> str:
        """Of the file's bytes, in hexadecimal; computed once. Any thread may ask."""
        if handle not in self._hashes:
            self._hashes[handle] = hashlib.sha256(self.data(handle)).hexdigest()
        return self._hashes[handle]

    def delete(self, handle: int) -> None:
        """Take one picture away. Folders stay. Raises NoSuchObject."""
        if self._known(handle) not in self._data:
            raise NoSuchObject(handle)
        self._used -= len(self._data.pop(handle))
        del self._info[handle], self._thumbs[handle]
        self._hashes.pop(handle, None)
        self._medium.drop(handle)

    def empty(self) -> None:
        """An empty card in the slot, as after changing it."""
        for handle in self.pictures():
            self.delete(handle)
        self._info.clear()

    def pictures(self) -> list[int]:
        """Handles of all files, oldest first."""
        return list(self._data)

    def handles(self, parent: int) -> list[int]:
        """parent 0: every object; ALL: the top level; a folder's handle: what lies in it."""
        if parent == 0:
            return list(self._info)
        if parent != ALL:
            self._known(parent)
        top = 0 if parent == ALL else parent
        return [handle for handle, info in self._info.items() if info.parent == top]

    def storage_info(self, picture_size: int) -> StorageInfo:
        """picture_size: bytes one picture is expected to take."""
        return StorageInfo(self._capacity, self.free, self.free // picture_size, "Memory card", "RIGD SIM")

    def _known(self, handle: int) -> int:
        if handle not in self._info:
            raise NoSuchObject(handle)
        return handle

    def _next_handle(self) -> int:
        self._last += 1
        return self._last

    def _folder(self, parent: int, name: str, taken: datetime) -> int:
        top = 0 if parent == ALL else parent
        for handle in self._matching(top, name):
            return handle
        handle = self._next_handle()
        generic_folder = 1
        self._info[handle] = ObjectInfo(
            STORAGE, Format.ASSOCIATION, 0, name, taken, parent=top, association=generic_folder
        )
        return handle

    def _matching(self, parent: int, name: str) -> Iterator[int]:
        return (handle for handle, info in self._info.items() if (info.parent, info.name) == (parent, name))


def _describe(picture: Picture, parent: int, handle: int) -> ObjectInfo:
    return ObjectInfo(
        STORAGE, Format.DNG, len(picture.data), picture.name, picture.taken, parent,
        width=picture.width, height=picture.height, depth=picture.depth,
        thumb_size=len(picture.thumb), thumb_width=picture.thumb_width, thumb_height=picture.thumb_height,
        thumb_format=Format.EXIF_JPEG, sequence=handle,
    )  # fmt: skip
