"""Pedals on the board: a press counts after 3 ms without a change, and nothing counts for 40 ms after."""

from __future__ import annotations

from collections.abc import Callable

STEADY_MS, LOCKED_MS = 3, 40


class Pedal:
    """One contact. Held down at power-up, it must be let go first."""

    def __init__(self, number: int, contact: Callable[[], bool], tell: Callable[[str], None]) -> None:
        self._number, self._contact, self._tell = number, contact, tell
        self._down = contact()
        self._run = self._locked = 0

    def every_ms(self, ms: int) -> None:
        if self._locked:
            self._locked -= 1
        elif self._contact() == self._down:
            self._run = 0
        else:
            self._run += 1
            if self._run >= STEADY_MS:
                self._run, self._locked, self._down = 0, LOCKED_MS, not self._down
                self._tell(f"PEDAL {self._number} {'down' if self._down else 'up'} ms={ms}")
