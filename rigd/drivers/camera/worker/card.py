"""Files on the camera's card: fetched, listed, removed."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

from rigd.drivers.camera.disk import create, room_for, writes
from rigd.drivers.camera.faults import AGAIN, is_busy
from rigd.drivers.camera.worker.device import Device, Trouble
from rigd.errors import CameraLost
from rigd.model.values import CardFile

DEEPEST = 8  # folders under folders; a camera has two or three, so more means a listing that eats its own tail


def fetch(device: Device, item: CardFile, into: Path, patience_s: float) -> int:
    """Copy one file into `into`, which is made here and must not exist; bytes written.

    A busy camera is asked again for `patience_s`. Where it fails, the part of a file that was made here goes away.

    Raises:
        DiskFull, DiskFaulty: the file cannot be made or has no room.
        CameraLost: fewer or more bytes came than the camera says the file has.
        Trouble: the library failed.
    """
    told = device.info(item.folder, item.name).bytes
    size = told if told is not None else item.bytes
    room_for(into, size or 0)
    descriptor = create(into)
    try:
        _copy(device, item, descriptor, patience_s)
        got = os.fstat(descriptor).st_size
        if size is not None and got != size:
            # The library takes no notice of a write that fails: it goes on, and says that all went well.
            writes(descriptor)
            raise _wrong_size(item, got, size)
    except BaseException:
        into.unlink(missing_ok=True)
        raise
    finally:
        os.close(descriptor)
    return got


def _copy(device: Device, item: CardFile, descriptor: int, patience_s: float) -> None:
    until = time.monotonic() + patience_s
    while True:
        try:
            return device.copy(item.folder, item.name, descriptor)
        except Trouble as trouble:
            if not is_busy(trouble.fault) or time.monotonic() > until:
                writes(descriptor)
                raise
        time.sleep(0.1)
        os.ftruncate(descriptor, 0)
        os.lseek(descriptor, 0, os.SEEK_SET)


def _wrong_size(item: CardFile, got: int, size: int) -> CameraLost:
    return CameraLost(f"{item.name} came over incomplete.", f"{got} bytes arrived, the camera says {size}.", AGAIN)


def listing(device: Device) -> tuple[CardFile, ...]:
    """Every file on the card, oldest first; files without a date come first."""
    files = [device.info(folder, name) for folder, name in _walk(device, "/", 0)]
    return tuple(sorted(files, key=lambda file: (file.taken or "", file.folder, file.name)))


def _walk(device: Device, folder: str, depth: int) -> Iterator[tuple[str, str]]:
    for name in device.names(folder, "files"):
        yield folder, name
    if depth < DEEPEST:
        for name in device.names(folder, "folders"):
            yield from _walk(device, f"{folder.rstrip('/')}/{name}", depth + 1)
