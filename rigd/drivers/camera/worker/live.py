"""Live view: entered when wanted, left before every still and when nobody looks."""

from __future__ import annotations

import time

from rigd.drivers.camera.worker.device import Device
from rigd.drivers.camera.worker.panel import Panel

STREAM = "5021"  # PTP 1.1 property "enabled streams", as the library names properties it has no widget of its own for


class Live:
    """Whether the camera is in live view, and since when nobody asked for a picture."""

    def __init__(self, device: Device, panel: Panel) -> None:
        self._device, self._panel = device, panel
        self._on = False
        self._asked = 0.0

    def on(self) -> None:
        """Enter, where the camera has a switch for it; the first picture does the rest."""
        self._asked = time.monotonic()
        if self._on:
            return
        self._on = True
        self._switch("1")

    def picture(self) -> bytes:
        """One picture; enters live view if need be. Raises Trouble."""
        self.on()
        return self._device.preview()

    def off(self) -> bool:
        """Leave; whether there was something to leave. Raises Trouble."""
        if not self._on:
            return False
        self._on = False
        self._switch("0")
        return True

    def tire(self, idle_s: float) -> None:
        """Leave if nobody asked for a picture for `idle_s` seconds."""
        if self._on and time.monotonic() - self._asked > idle_s:
            self.off()

    def _switch(self, value: str) -> None:
        widget = self._panel.read("liveview")
        if widget is None and value == "0":
            widget = self._panel.named(STREAM)
        if widget is not None and widget.writable and widget.value != value:
            self._device.write(widget.name, value)
