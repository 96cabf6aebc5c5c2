"""Choosing a pedal by pressing it."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from msgspec import Struct

from rigd.drivers.pedal.device import Device, is_keyboard
from rigd.drivers.pedal.host import keyboard
from rigd.drivers.pedal.records import Key, Records
from rigd.errors import PedalMissing
from rigd.ports import Clock

BY_ID = Path("/dev/input/by-id")
"""Links that outlive a reboot and another socket; each names what the device says it is."""


class Candidate(Struct, frozen=True):
    """An input device with keys. `keyboard`: it has a whole alphabet."""

    path: str
    name: str
    keyboard: bool


class Learned(Struct, frozen=True):
    """What was pressed, as the settings want it."""

    path: str
    code: int


def candidates(folder: Path = BY_ID) -> list[Candidate]:
    """Input devices with keys that we may read, by their lasting names. Empty where there are none."""
    found = []
    for path in sorted(folder.glob("*")) if folder.is_dir() else []:
        try:
            device = Device.open(path)
        except PedalMissing:
            continue
        keys, name = device.keys(), device.name()
        device.close()
        if keys:
            found.append(Candidate(str(path), name, is_keyboard(keys)))
    return found


async def learn(paths: list[Path], clock: Clock, seconds: float = 20.0, keyboards: bool = False) -> Learned:
    """The first key that goes down on one of these devices within `seconds`. They are read beside other readers.

    Raises:
        PedalMissing: nothing was pressed, or none of them can be opened.
        PedalUnfit: it was a key of a whole keyboard, and `keyboards` is False.
    """
    opened = [Device.open(path) for path in paths]
    pressed: asyncio.Future[Learned] = asyncio.get_running_loop().create_future()
    for device in opened:
        asyncio.get_running_loop().add_reader(device.descriptor, _look, device, Records(), pressed)
    timer = asyncio.ensure_future(clock.sleep(seconds))
    either: list[asyncio.Future[Any]] = [pressed, timer]
    try:
        await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
        return _checked(pressed, opened, keyboards)
    finally:
        timer.cancel()
        pressed.cancel()
        for device in opened:
            asyncio.get_running_loop().remove_reader(device.descriptor)
            device.close()


def _look(device: Device, records: Records, pressed: asyncio.Future[Learned]) -> None:
    data = device.read()
    if data is None:
        asyncio.get_running_loop().remove_reader(device.descriptor)
        return
    for one in records.feed(data):
        if isinstance(one, Key) and one.down and not pressed.done():
            pressed.set_result(Learned(str(device.path), one.code))


def _checked(pressed: asyncio.Future[Learned], opened: list[Device], keyboards: bool) -> Learned:
    if not pressed.done():
        raise PedalMissing("No pedal was pressed.", "Nothing came from any input device.", "Plug it in and try again.")
    learned = pressed.result()
    device = next(device for device in opened if str(device.path) == learned.path)
    if is_keyboard(device.keys()) and not keyboards:
        raise keyboard(device.path)
    return learned
