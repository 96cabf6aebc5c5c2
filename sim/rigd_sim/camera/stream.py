"""Live view: the one video stream of PTP 1.1, a JPEG picture a request."""

from __future__ import annotations

import asyncio

from rigd_sim.camera.clock import SceneClock
from rigd_sim.camera.codes import Prop
from rigd_sim.camera.darkroom import jpeg
from rigd_sim.camera.datasets import StreamInfo
from rigd_sim.camera.scales import SHUTTER, working_aperture
from rigd_sim.camera.settings import Settings
from rigd_sim.camera.sight import Gain, Sight

WIDTH = 960  # px, what bodies commonly give
QUALITY = 85  # of the JPEG: about 100 kB at this width
FRAME_MAX = 4 << 20  # bytes, more than any picture of this width takes


class Stream:
    """Pictures through the lens as they are now."""

    def __init__(self, sight: Sight, clock: SceneClock, settings: Settings, gain: Gain) -> None:
        self._sight, self._clock, self._settings, self._gain = sight, clock, settings, gain

    @property
    def enabled(self) -> bool:
        return self._settings.number(Prop.ENABLED_STREAMS) == 1

    @property
    def info(self) -> StreamInfo:
        return StreamInfo(FRAME_MAX)

    async def frame(self) -> bytes:
        """One JPEG file."""
        return await asyncio.to_thread(self._render)

    def _render(self) -> bytes:
        number = self._settings.number
        seconds = float(SHUTTER[number(Prop.EXPOSURE_TIME)])
        f_number, iso = working_aperture(number(Prop.F_NUMBER) / 100), number(Prop.EXPOSURE_INDEX)
        rgb = self._sight.preview(self._clock.now(), WIDTH, seconds, f_number, iso, gain=self._gain)
        return jpeg(rgb, QUALITY)
