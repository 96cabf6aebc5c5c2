"""The intervals between steps, in the firmware's own integers (hardware/PROTOCOL.md, "Motion").

c_k = c_(k-1) - 2 c_(k-1) / (4 k + 1), and the same list backwards to slow down: D. Austin, "Generate stepper-motor
speed profiles in real time", Embedded Systems Programming, January 2005.
"""

from __future__ import annotations

from math import isqrt

TICK_HZ = 2_000_000
_FIRST_SQUARED = 239587033088000000  # 2 (0.676 * 256 * TICK_HZ)^2


def plan_ms(steps: int, speed: int, ramp: int) -> int:
    """How long a motion takes, in ms, rounded up."""
    if steps * ramp >= speed * speed:
        return steps * 1000 // speed + speed * 1000 // ramp + 2
    return isqrt(steps * 4000000 // ramp) + 2


class Ramp:
    """One motion's way to its end: `left` steps to go, and the interval to the next of them in 1/256 tick."""

    def __init__(self, steps: int, speed: int, ramp: int) -> None:
        self.left = steps
        self._shortest = TICK_HZ * 256 // speed
        self._interval = max(isqrt(_FIRST_SQUARED // ramp), self._shortest)
        self._level = self._fraction = 0
        self._begun = False

    def next(self) -> int:
        """Ticks from the step just made to the next one; `left` has been counted down and is not 0."""
        if self._begun:
            self._change()
        self._begun = True
        wide = self._interval + self._fraction
        self._fraction = wide & 0xFF
        return wide >> 8

    def _change(self) -> None:
        if self._level > self.left - 1:
            self._interval += self._difference(4 * self._level - 1)
            self._level -= 1
        elif self._level < self.left - 1 and self._interval > self._shortest:
            self._level += 1
            self._interval = max(self._interval - self._difference(4 * self._level + 1), self._shortest)

    def _difference(self, parts: int) -> int:
        return (2 * self._interval + parts // 2) // parts

    def ease(self) -> bool:
        """Slow down from here; True if that makes the motion shorter."""
        shorter = self.left > self._level + 1
        if shorter:
            self.left = self._level + 1
        return shorter
