"""The camera body: everything that is there whether or not anybody is connected."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine, Iterable
from dataclasses import dataclass, field
from datetime import timedelta

from rigd_sim.camera import pack
from rigd_sim.camera.card import STORAGE, Card
from rigd_sim.camera.clock import CalendarClock, SceneClock
from rigd_sim.camera.codes import Event, Format, Op, Prop, Response
from rigd_sim.camera.darkroom import Exposure, develop
from rigd_sim.camera.datasets import DeviceInfo
from rigd_sim.camera.events import Events
from rigd_sim.camera.faults import Faults
from rigd_sim.camera.holds import Freeze, Stalls
from rigd_sim.camera.medium import InMemory, Medium
from rigd_sim.camera.meter import metered
from rigd_sim.camera.names import Names
from rigd_sim.camera.pack import Value
from rigd_sim.camera.scales import SHUTTER
from rigd_sim.camera.settings import MANUAL, Live, Settings, body_properties
from rigd_sim.camera.shutter import Shutter
from rigd_sim.camera.sight import Compression, Gain, Sight
from rigd_sim.camera.stream import Stream
from rigd_sim.camera.wirelog import WireLog

FOCUSING = 0.4  # s of the scene that focusing takes before the shutter opens, where it is automatic
HEADERS = 1 << 20  # bytes a file takes beyond its raw data, generously


@dataclass(frozen=True)
class BodySpec:
    """How the body is built and set up."""

    width: int  # px of the sensor
    height: int
    serial: str = "RS0000001"
    compression: Compression = "none"
    live_gain: Gain = "follow"
    card_bytes: int = 2048 << 20
    partial: bool = True  # whether the body can send an object in parts
    first_number: int = 1  # of the next file name
    clock_offset: timedelta = timedelta()
    medium: Medium = field(default_factory=InMemory)

    @property
    def picture_bytes(self) -> int:
        """What an uncompressed file takes at most."""
        return self.width * self.height * 2 + HEADERS


class Body:
    """The parts of a camera, joined. Make it inside a running event loop; `close` ends its shot."""

    def __init__(self, spec: BodySpec, sight: Sight, clock: SceneClock) -> None:
        self.spec, self.clock, self._sight = spec, clock, sight
        self.faults, self.freeze, self.stalls, self.log = Faults(), Freeze(), Stalls(), WireLog()
        self.calendar = CalendarClock(spec.clock_offset)
        self.events = Events(self.faults, self.freeze, self.stalls, self.log)
        self.card = Card(spec.card_bytes, spec.medium)
        self.settings = Settings(body_properties(spec.width, spec.height), {Prop.DATE_TIME: self._date()})
        self.stream = Stream(sight, clock, self.settings, spec.live_gain)
        self._names = Names(spec.first_number)
        self._shots: set[asyncio.Task[None]] = set()
        self.shutter = Shutter(
            clock, self.card, self.faults, self._aim,
            lambda exposure: develop(sight, exposure, spec.serial, spec.compression),
            self.events.post, self._spawn, spec.picture_bytes,
        )  # fmt: skip

    def device_info(self, operations: Iterable[int]) -> DeviceInfo:
        """operations: all that this kind of camera knows; the body may leave some out."""
        known = tuple(code for code in operations if code not in self.unsupported)
        return DeviceInfo(
            known, tuple(Event), self.settings.codes, (Format.DNG,), (Format.DNG, Format.ASSOCIATION),
            "RIGD", "Simulated Body", "1.0", self.spec.serial,
        )  # fmt: skip

    @property
    def unsupported(self) -> frozenset[int]:
        return frozenset() if self.spec.partial else frozenset({Op.GET_PARTIAL_OBJECT})

    def turn(self, code: int, value: Value) -> None:
        """Change a setting by hand on the body; the other side hears of it. Raises Refused."""
        self.settings.force(code, value)
        self.events.post(Event.DEVICE_PROP_CHANGED, 0, (code,))

    def press(self) -> Response:
        """The shutter button on the body: a shot that nobody asked for over the wire."""
        return self.shutter.press()

    def change_card(self) -> None:
        """Take the card out and put an empty one in."""
        self.events.post(Event.STORE_REMOVED, 0, (STORAGE,))
        self.card.empty()
        self.events.post(Event.STORE_ADDED, 0, (STORAGE,))

    async def close(self) -> None:
        for shot in self._shots:
            shot.cancel()
        await asyncio.gather(*self._shots, return_exceptions=True)

    def _spawn(self, shot: Coroutine[None, None, None]) -> None:
        task = asyncio.get_running_loop().create_task(shot)
        self._shots.add(task)
        task.add_done_callback(self._shots.discard)

    async def _aim(self) -> Exposure:
        """The shot, with the settings as they stood when the button was pressed, and what the body finds itself."""
        setting = self.settings.number
        seconds = SHUTTER[setting(Prop.EXPOSURE_TIME)]
        f_number, iso = setting(Prop.F_NUMBER) / 100, setting(Prop.EXPOSURE_INDEX)
        if setting(Prop.FOCUS_MODE) != MANUAL:
            await self.clock.wait_until(self.clock.now() + FOCUSING)
        if setting(Prop.EXPOSURE_PROGRAM) != MANUAL:
            seconds = await asyncio.to_thread(metered, self._sight, self.clock.now(), f_number, iso)
        number = self._names.number
        folder, name = self._names.next()
        return Exposure(self.clock.now(), seconds, f_number, iso, self.calendar.now(), number, folder, name)

    def _date(self) -> Live:
        return Live(
            lambda: pack.timestamp(self.calendar.now()),
            lambda text: self.calendar.set(pack.parse_timestamp(str(text))),
        )
