"""A hand over the gate: it lets no light through."""

from __future__ import annotations

import math

from rigd_sim.scene.optics import Optics

FINGERS_MM = 20.0
"""Two fingers side by side."""


class Cover:
    """From when on how much of the gate, from its near side, a hand reaches over; fingers lie about its middle."""

    def __init__(self) -> None:
        self._shares: list[tuple[float, float]] = []

    def reach(self, at: float, share: float) -> None:
        """From that time on; 0 takes the hand away."""
        before = [(start, s) for start, s in self._shares if start < at]
        self._shares = [*before[-15:], (at, share)]

    def box(self, at: float, optics: Optics) -> tuple[slice, slice] | None:
        """Rows and columns of the sensor that it covers then; None without a hand."""
        share = next((s for start, s in reversed(self._shares) if start <= at), 0.0)
        if share <= 0:
            return None
        width, height = optics.spec.sensor
        scale, across = optics.px_per_mm, optics.gate_mm[1]
        top = height / 2 + (0.5 - share) * across * scale
        half = FINGERS_MM / 2 * scale
        return slice(max(0, int(top)), height), slice(max(0, int(width / 2 - half)), math.ceil(width / 2 + half))


def scaled(box: tuple[slice, slice], by: float) -> tuple[slice, slice]:
    """The same box in a picture of another size."""
    rows, columns = box
    return (
        slice(int(rows.start * by), math.ceil(rows.stop * by)),
        slice(int(columns.start * by), math.ceil(columns.stop * by)),
    )

