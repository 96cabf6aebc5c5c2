"""The exposure that suits a frame, known from the film itself."""

from __future__ import annotations

import math

import numpy as np

from rigd_sim.scene.curve import STOCKS
from rigd_sim.scene.planes import Floats, looked_up
from rigd_sim.scene.roll import Frame, Strip
from rigd_sim.scene.sensor import CFA, REFERENCE_FILL, REFERENCE_SECONDS
from rigd_sim.scene.spec import SceneSpec
from rigd_sim.scene.strips import FilmStore

_TRIM = 0.03  # share of the picture left out along its edges
_MIDDLE_STOPS, _CEILING_STOPS = -2.2, -0.15
"""Under white: where a picture's middle belongs (half way up an sRGB scale, 0.216), and what its lights may reach."""


class RightExposure:
    """Right exposure times of a roll's frames, measured on a reduced copy of the film; each is worked out once."""

    def __init__(self, spec: SceneSpec, strips: tuple[Strip, ...], films: FilmStore) -> None:
        self._strips = strips
        self._films = films
        self._table = STOCKS[spec.tone, spec.colour].transmittance()
        self._known: dict[int, float] = {}

    def seconds(self, frame: Frame) -> float | None:
        """Seconds at f/8, ISO 100, full lamp; None for a frame without a picture.

        The middle (in stops) between the 0.5 % and 99.5 % points of the channel that is brightest at 99.5 % lies 2.2
        stops under white; or lower, so that no channel has more than 0.1 % above -0.15 stop.
        """
        if not frame.exposed:
            return None
        if frame.number not in self._known:
            self._known[frame.number] = self._measured(frame)
        return self._known[frame.number]

    def _measured(self, frame: Frame) -> float:
        channels = [np.log2(flux) for flux in self._channels(frame)]
        ends = [np.percentile(stops, [0.5, 99.5]) for stops in channels]
        brightest = max(ends, key=lambda pair: float(pair[1]))
        wanted = _MIDDLE_STOPS - float(brightest.mean())
        ceiling = min(_CEILING_STOPS - float(np.percentile(stops, 99.9)) for stops in channels)
        return REFERENCE_SECONDS / REFERENCE_FILL * math.pow(2.0, min(wanted, ceiling))

    def _channels(self, frame: Frame) -> list[Floats]:
        """Flux of the picture through each colour filter (bare lamp in green = 1.0)."""
        cell = self._films.cell(self._strips[frame.strip - 1], frame.place)
        left, right = (self._films.column(mm) - cell.left for mm in (frame.start, frame.end))
        rows, trim = cell.planes[0].shape[0], round((right - left) * _TRIM)
        half = math.floor(frame.height * self._films.px_per_mm * (0.5 - _TRIM))
        area = (slice(rows // 2 - half, rows // 2 + half), slice(max(0, left + trim), right - trim))
        layers = [looked_up(plane[area], self._table).astype(np.float64) for plane in cell.planes]
        return [layers[n if len(layers) == 3 else 0] * CFA[n] for n in range(3)]
