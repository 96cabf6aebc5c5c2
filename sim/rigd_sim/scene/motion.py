"""Where the film is: pieces of movement, each a smooth function of time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rigd_sim.scene.planes import Floats


def minimum_jerk(share: Floats) -> Floats:
    """The smoothest way from 0 to 1: 10 s^3 - 15 s^4 + 6 s^5, with s cut to 0..1. Peak speed is 1.875 x the mean."""
    s = np.clip(share, 0.0, 1.0)
    result: Floats = s * s * s * (10.0 + s * (6.0 * s - 15.0))
    return result


@dataclass(frozen=True)
class Move:
    """The film of `strip` (None: no film) goes from `begin` to `end` (mm of the strip at the gate's middle)."""

    strip: int | None
    start: float
    seconds: float
    begin: float
    end: float

    def position(self, times: Floats) -> Floats:
        """Millimetres at these times."""
        if self.seconds <= 0:
            return np.where(times >= self.start, self.end, self.begin)
        return self.begin + (self.end - self.begin) * minimum_jerk((times - self.start) / self.seconds)

    @property
    def finish(self) -> float:
        """When it arrives."""
        return self.start + max(self.seconds, 0.0)


class Motion:
    """The film's movements in order of their starts; the last one begun is in force. The past stays readable."""

    _KEPT = 256

    def __init__(self) -> None:
        self._moves: tuple[Move, ...] = (Move(None, float("-inf"), 0.0, 0.0, 0.0),)

    def begin(self, move: Move) -> None:
        """Adds a movement; it takes over from whatever was under way when it starts."""
        kept = [m for m in self._moves if m.start <= move.start]
        self._moves = (*kept[-self._KEPT :], move)

    def in_force(self, at: float) -> Move:
        """The movement that rules at that time."""
        return next((m for m in reversed(self._moves) if m.start <= at), self._moves[0])

    def strip(self, at: float) -> int | None:
        """The strip under the camera at that time."""
        return self.in_force(at).strip

    def position(self, at: float) -> float:
        """Millimetres of the strip at the gate's middle."""
        return float(self.in_force(at).position(np.array([at]))[0])

    def path(self, start: float, times: Floats) -> Floats:
        """Positions at these times, mm. A movement that brings another strip is left out: it can't be one picture."""
        strip = self.strip(start)
        here = [m if (m := self.in_force(float(t))).strip == strip else self.in_force(start) for t in times]
        return np.array([float(m.position(times[i : i + 1])[0]) for i, m in enumerate(here)])

    @property
    def last(self) -> Move:
        """The movement begun last."""
        return self._moves[-1]
