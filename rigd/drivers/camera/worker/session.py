"""One connection to one camera, from open to close: what the requests of the daemon do."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from msgspec.structs import replace

from rigd.drivers.camera import menus
from rigd.drivers.camera.collector import Collector, Key, key
from rigd.drivers.camera.config import CameraConfig
from rigd.drivers.camera.faults import LOOK
from rigd.drivers.camera.readings import Facts
from rigd.drivers.camera.worker import card, shot
from rigd.drivers.camera.worker.bench import body_of, gather, largest, open_body, use_card
from rigd.drivers.camera.worker.device import Device, Event, Trouble
from rigd.drivers.camera.worker.live import Live
from rigd.drivers.camera.worker.locate import reset_port
from rigd.drivers.camera.worker.panel import APERTURE, ISO, SHUTTER, Panel
from rigd.errors import CameraError, CameraRefused
from rigd.model.values import CardFile, Exposure
from rigd.ports import Body, Shot

MOST_EVENTS = 500  # in one drain; a body that says more than that at once is not going to stop


class Session:
    """The camera while it is open. Methods raise Trouble (the library failed) or an error of `rigd.errors`.

    Args:
        on_stray: called with each file that arrives and belongs to no shot, when it is found.
    """

    def __init__(self, config: CameraConfig, on_stray: Callable[[CardFile], None]) -> None:
        self._config, self._on_stray = config, on_stray
        self._device = Device()
        self._panel = Panel(self._device, config.widgets, self.drain, config.allow.busy_s)
        self._live = Live(self._device, self._panel)
        self._last_shot: frozenset[Key] = frozenset()
        self._exposure_s: float | None = None
        self._touched = True
        self._breath_at = time.monotonic()
        self._facts = Facts("", "", "", {})

    def open(self, serial: str) -> Body:
        """Find the body, read what it offers, and let it write to its card. serial: only that body, if given."""
        try:
            model, found = open_body(self._device, self._panel, self._config, serial)
            lacks = use_card(self._panel)
            self._facts = gather(self._device, model, found)
            self.drain()
        except Trouble as trouble:
            raise Trouble(replace(trouble.fault, stage="open"), trouble.words) from trouble
        self._breath_at = time.monotonic()
        return body_of(self._facts, lacks)

    def reopen(self, reset: bool) -> Body:
        """Leave and open again, the same body; with the port reset in between."""
        self.close()
        if reset and not reset_port(self._facts.port):
            raise CameraError(
                f"The port {self._facts.port} cannot be reset.", "", "Unplug the camera's cable and plug it in again.",
            )  # fmt: skip
        return self.open(self._facts.serial)

    def close(self) -> None:
        self._live = Live(self._device, self._panel)
        self._device.exit()

    def apply(self, want: Exposure) -> Exposure:
        """Set and verify; an f-number or ISO of None is left alone, and reported as it is."""
        self.drain()
        f_number = self._panel.agree_number("aperture", APERTURE, want.f_number)
        iso = self._panel.agree_number("iso", ISO, want.iso)
        shutter = self._panel.set_number("shutter", SHUTTER, want.shutter_s, want.shutter)
        self._exposure_s, self._touched = shutter.value, False
        return Exposure(shutter.value, shutter.label, f_number, None if iso is None else int(iso))

    def shoot(self, expect: int) -> Shot:
        """Leave live view, drain, release once, collect. Strays are told on their own, before the shot is."""
        if self._live.off():
            self.drain()
        self.drain()
        if self._touched:
            self._exposure_s, self._touched = self._panel.number("shutter", menus.seconds), False
        start = time.monotonic()
        collector = self._collector(expect, start)
        busy = shot.release(self._device)
        try:
            shot.collect(self._device, collector, self._ask, self._until(start) if busy else None)
        except CameraError:
            if busy:
                raise busy from None
            raise
        finally:
            self._last_shot = frozenset(map(key, collector.files))
            for stray in collector.strays:
                self._on_stray(stray)
        return Shot(collector.files, time.monotonic() - start)

    def _collector(self, expect: int, start: float) -> Collector:
        offset = self._facts.clock_offset_s
        date = None if offset is None else datetime.now(UTC).replace(tzinfo=None) + timedelta(seconds=offset)
        return Collector(expect, self._exposure_s, start, date, self._last_shot, self._config.allow)

    def _until(self, start: float) -> float:
        return start + (self._exposure_s or 0.0) + self._config.allow.busy_s

    def _ask(self, folder: str, name: str) -> CardFile:
        """What the camera says of a new file; its bare name where it says nothing."""
        try:
            return self._device.info(folder, name)
        except Trouble:
            return CardFile(folder, name)

    def drain(self) -> None:
        """Take in everything the camera has to say. New files are strays."""
        for _ in range(MOST_EVENTS):
            event = self._device.event()
            if event.kind == "none":
                return
            self._take_in(event)

    def _take_in(self, event: Event) -> None:
        self._touched = self._touched or event.kind == "other"
        if event.kind == "file" and (event.folder, event.name) not in self._last_shot:
            self._on_stray(self._ask(event.folder, event.name))

    def fetch(self, item: CardFile, into: Path) -> int:
        return card.fetch(self._device, item, into, self._config.allow.busy_s)

    def items(self) -> tuple[CardFile, ...]:
        """Everything on the card, what has just arrived included."""
        self.drain()
        return card.listing(self._device)

    def remove(self, item: CardFile) -> None:
        """Delete one file. The library reports no failure, so the room on the card has to tell; where it does not, the
        camera is opened again and the card looked at.

        Raises:
            CameraRefused: the file is still there.
        """
        size, before = self._device.info(item.folder, item.name).bytes, self._free()
        self._device.delete(item.folder, item.name)
        after = self._free()
        if size and before is not None and after is not None and after - before >= size // 2:
            return
        self.reopen(reset=False)
        if key(item) in map(key, self.items()):
            raise CameraRefused(f"{item.name} is still on the card.", "The camera did not delete it.", LOOK)

    def _free(self) -> int | None:
        free = [room.free_bytes for room in self._device.rooms() if room.free_bytes is not None]
        return sum(free) if free else None

    @property
    def port(self) -> str:
        """The library's name of the port that was tried last; empty before the first."""
        return self._device.port

    @property
    def live(self) -> Live:
        return self._live

    def survey(self) -> Facts:
        """Everything that can be read, read again."""
        self.drain()
        facts = gather(self._device, self._facts.model, self._panel.find_all())
        if any(room.free_frames is None for room in facts.rooms):
            return replace(facts, largest_bytes=largest(self._device))
        return facts

    def idle(self) -> None:
        """Called about once a second while nothing is asked."""
        self.drain()
        self._live.tire(self._config.allow.live_idle_s)
        if time.monotonic() - self._breath_at > self._config.allow.breath_s:
            self._breath_at = time.monotonic()
            self._device.rooms()

    def alive(self) -> bool:
        """Whether the camera answers a question that goes over the wire."""
        try:
            self._device.rooms()
        except Trouble:
            return False
        return True
