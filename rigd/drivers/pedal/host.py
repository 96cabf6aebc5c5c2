"""A pedal that acts as a keyboard on this machine, as a Trigger."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from pathlib import Path

from rigd.drivers.pedal.device import Device, is_keyboard
from rigd.drivers.pedal.gestures import Edge, Found, Timing
from rigd.drivers.pedal.recogniser import Recogniser
from rigd.drivers.pedal.records import Dropped, Key, Records
from rigd.errors import PedalMissing, PedalUnfit
from rigd.ports import Change, Clock, Press

AGAIN_S = 1.0  # between looks for a pedal that was unplugged


class HostPedal:
    """The device at `path` (best one below /dev/input/by-id), read alone, whatever window has the focus.

    `code`: only this key of it (None: any). `keyboard_confirmed`: take it though it has a whole alphabet. `alone`:
    False leaves it to other readers too. Unplugged, it says so and is taken again when it returns.
    """

    def __init__(
        self,
        path: Path,
        clock: Clock,
        code: int | None = None,
        timing: Timing | None = None,
        *,
        keyboard_confirmed: bool = False,
        alone: bool = True,
    ) -> None:
        self._path, self._clock, self._code = path, clock, code
        self._confirmed, self._alone = keyboard_confirmed, alone
        self._recogniser = Recogniser(timing or Timing())
        self._records = Records()
        self._device: Device | None = None
        self._queue: asyncio.Queue[Press | Change] = asyncio.Queue()
        self._search: asyncio.Task[None] | None = None
        self._wait: asyncio.Task[None] | None = None

    @property
    def source(self) -> str:
        return f"pedal {self._path.name}"

    async def open(self) -> str:
        """Raises PedalMissing; PedalUnfit for a whole keyboard that was not confirmed."""
        return self._take()

    async def next(self) -> Press | Change:
        """The next thing that happened, in order."""
        return await self._queue.get()

    async def close(self) -> None:
        self._leave()
        tasks = [task for task in (self._search, self._wait) if task is not None]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    def _take(self) -> str:
        device = Device.open(self._path)
        try:
            if is_keyboard(device.keys()) and not self._confirmed:
                raise keyboard(self._path)
            if self._alone:
                device.take()
        except (PedalMissing, PedalUnfit):
            device.close()
            raise
        self._device, self._records = device, Records()
        asyncio.get_running_loop().add_reader(device.descriptor, self._read)
        return device.name() or self.source

    def _leave(self) -> None:
        device, self._device = self._device, None
        if device is not None:
            asyncio.get_running_loop().remove_reader(device.descriptor)
            device.close()

    def _read(self) -> None:
        data = self._device.read() if self._device else b""
        if data is None:
            self._gone()
            return
        for one in self._records.feed(data):
            if isinstance(one, Dropped):
                self._recogniser.reset()
            elif self._code in (None, one.code):
                self._key(one)

    def _key(self, key: Key) -> None:
        self._found(self._recogniser.edge(Edge(key.at, key.down)))

    def _found(self, found: tuple[Found, ...]) -> None:
        for one in found:
            self._queue.put_nowait(Press(self.source, one.gesture, one.at))
        if self._wait is not None and self._wait is not asyncio.current_task():
            self._wait.cancel()
        again_at = self._recogniser.again_at
        self._wait = None if again_at is None else asyncio.ensure_future(self._look_again(again_at))

    async def _look_again(self, at: float) -> None:
        await self._clock.sleep(max(0.0, at - self._clock.monotonic()))
        self._found(self._recogniser.pass_time(max(at, self._clock.monotonic())))

    def _gone(self) -> None:
        self._leave()
        self._recogniser.reset()
        self._queue.put_nowait(Change(self.source, "gone", "Unplugged; the other triggers go on."))
        self._search = asyncio.ensure_future(self._until_back())

    async def _until_back(self) -> None:
        while True:
            await self._clock.sleep(AGAIN_S)
            with suppress(PedalMissing, PedalUnfit):
                name = self._take()
                self._queue.put_nowait(Change(self.source, "back", name))
                return


def keyboard(path: Path) -> PedalUnfit:
    return PedalUnfit(
        f"{path} is a whole keyboard.",
        "It would be taken from every window as long as rigd runs, and may be the only one.",
        "Press the pedal instead, or confirm that this keyboard shall serve as one.",
    )
