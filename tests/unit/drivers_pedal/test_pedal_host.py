"""A pedal of this machine, from a pipe into which recorded kernel events are written: there is no input device here."""

from __future__ import annotations

import asyncio
import heapq
import os
import struct
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rigd.drivers.pedal.host import HostPedal
from rigd.drivers.pedal.learn import Learned, candidates, learn
from rigd.errors import PedalMissing
from rigd.ports import Change, Press, Trigger

KEY_B, KEY_C = 48, 46


class HandClock:
    """Time that a test moves."""

    def __init__(self) -> None:
        self.at = 100.0
        self._sleepers: list[tuple[float, int, asyncio.Future[None]]] = []

    def now(self) -> datetime:
        return datetime(2026, 1, 1, tzinfo=UTC)

    def monotonic(self) -> float:
        return self.at

    async def sleep(self, seconds: float) -> None:
        future: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._sleepers, (self.at + seconds, id(future), future))
        await future

    def move(self, to: float) -> None:
        self.at = to
        while self._sleepers and self._sleepers[0][0] <= to:
            future = heapq.heappop(self._sleepers)[2]
            if not future.done():
                future.set_result(None)


class Pipe:
    """The kernel's side of a device."""

    def __init__(self, path: Path) -> None:
        self.path = path
        os.mkfifo(path)
        self.end = os.open(path, os.O_RDWR | os.O_NONBLOCK)

    def key(self, at: float, code: int, value: int) -> None:
        seconds, micros = int(at), round((at - int(at)) * 1e6)
        record = struct.pack("llHHi", seconds, micros, 1, code, value)
        os.write(self.end, record + struct.pack("llHHi", seconds, micros, 0, 0, 0))

    def tap(self, at: float, code: int = KEY_B, held: float = 0.1) -> None:
        self.key(at, code, 1)
        self.key(at + held / 2, code, 2)
        self.key(at + held, code, 0)

    def unplug(self) -> None:
        os.close(self.end)
        self.path.unlink()


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
async def pedal(tmp_path: Path, clock: HandClock) -> AsyncIterator[tuple[HostPedal, Pipe]]:
    pipe = Pipe(tmp_path / "usb-Footswitch-event-kbd")
    made = HostPedal(pipe.path, clock, KEY_B, alone=False)
    await made.open()
    yield made, pipe
    await made.close()


def port_fits(pedal: HostPedal) -> Trigger:
    return pedal


async def turns(count: int = 20) -> None:
    for _ in range(count):
        await asyncio.sleep(0)


async def test_a_short_press(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    pipe.tap(100.0)
    await turns()
    clock.move(100.5)
    assert await host.next() == Press("pedal usb-Footswitch-event-kbd", "short", 100.0)


async def test_auto_repeat_and_bounces_are_one_long_press(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    for at, value in [
        (0.0, 1),
        (0.004, 0),
        (0.007, 1),
        (0.25, 2),
        (0.3, 2),
        (0.35, 2),
        (1.0, 0),
        (1.005, 1),
        (1.01, 0),
    ]:
        pipe.key(100 + at, KEY_B, value)
    await turns()
    clock.move(101.1)
    assert await host.next() == Press(host.source, "long", 100.0)
    pipe.tap(102.0)
    await turns()
    clock.move(103.0)
    assert await host.next() == Press(host.source, "short", 102.0)


async def test_a_double_press(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    pipe.tap(100.0)
    pipe.tap(100.25)
    assert await host.next() == Press(host.source, "double", 100.0)


async def test_a_long_press_is_told_while_it_is_held(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    pipe.key(100.0, KEY_B, 1)
    await turns()
    clock.move(100.6)
    assert await host.next() == Press(host.source, "long", 100.0)


async def test_other_keys_of_the_device_mean_nothing(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    pipe.tap(100.0, KEY_C)
    pipe.tap(101.0, KEY_B)
    await turns()
    clock.move(102.0)
    assert await host.next() == Press(host.source, "short", 101.0)


async def test_a_half_press_before_a_loss_means_nothing(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    pipe.key(100.0, KEY_B, 1)
    os.write(pipe.end, struct.pack("llHHi", 100, 1, 0, 3, 0))
    pipe.key(101.0, KEY_B, 0)
    pipe.tap(102.0)
    await turns()
    clock.move(103.0)
    assert await host.next() == Press(host.source, "short", 102.0)


async def test_unplugged_and_back(pedal: tuple[HostPedal, Pipe], clock: HandClock) -> None:
    host, pipe = pedal
    pipe.unplug()
    gone = await host.next()
    assert isinstance(gone, Change)
    assert (gone.source, gone.what) == (host.source, "gone")
    await turns()
    clock.move(101.5)  # a look, and it is not there yet
    await turns()
    again = Pipe(pipe.path)
    clock.move(103.0)
    back = await host.next()
    assert isinstance(back, Change)
    assert back.what == "back"
    again.tap(104.0)
    await turns()
    clock.move(105.0)
    assert await host.next() == Press(host.source, "short", 104.0)
    again.unplug()
    assert isinstance(await host.next(), Change)


async def test_a_pedal_that_is_not_there(tmp_path: Path, clock: HandClock) -> None:
    with pytest.raises(PedalMissing, match="No such file"):
        await HostPedal(tmp_path / "none", clock).open()


async def test_what_is_no_input_device_cannot_be_taken_alone(tmp_path: Path, clock: HandClock) -> None:
    pipe = Pipe(tmp_path / "pipe")
    with pytest.raises(PedalMissing, match="cannot be used"):
        await HostPedal(pipe.path, clock).open()
    pipe.unplug()


async def test_the_pedal_is_learned_by_pressing_it(tmp_path: Path, clock: HandClock) -> None:
    pipes = [Pipe(tmp_path / name) for name in ("one", "two")]
    learning = asyncio.ensure_future(learn([pipe.path for pipe in pipes], clock))
    await turns()
    pipes[1].key(100.0, KEY_C, 1)
    assert await learning == Learned(str(tmp_path / "two"), KEY_C)
    for pipe in pipes:
        pipe.unplug()


async def test_nobody_presses(tmp_path: Path, clock: HandClock) -> None:
    pipe = Pipe(tmp_path / "one")
    learning = asyncio.ensure_future(learn([pipe.path], clock, seconds=20))
    await turns()
    clock.move(121.0)
    with pytest.raises(PedalMissing, match="No pedal"):
        await learning
    pipe.unplug()


def test_what_is_no_input_device_is_no_candidate(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    assert candidates(tmp_path) == []
    assert candidates(tmp_path / "none") == []
