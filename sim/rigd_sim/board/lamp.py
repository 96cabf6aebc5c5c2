"""The lamp's four channels, its warm-up, and the dark that a silent host brings."""

from __future__ import annotations

from collections.abc import Callable

from rigd_sim.board.settings import Settings

OFF = (0, 0, 0, 0)


class Lamp:
    """Levels of white, red, green, blue, 0 to 255. `shown` is called with them at every change."""

    def __init__(
        self, settings: Settings, tell: Callable[[str], None], shown: Callable[[tuple[int, ...]], None]
    ) -> None:
        self._settings, self._tell, self._shown = settings, tell, shown
        self.levels: tuple[int, ...] = OFF
        self._on_since = 0
        self._told_warm = False

    def set(self, levels: tuple[int, ...], ms: int) -> None:
        if self.levels == OFF:
            self._on_since = ms
        changed, self.levels = levels != self.levels, levels
        if changed:
            self._shown(levels)

    def warm_in_ms(self, ms: int) -> int:
        return 0 if self.levels == OFF else max(0, self._settings["warm"] - (ms - self._on_since))

    def every_ms(self, ms: int, quiet_s: int) -> None:
        if self.levels == OFF:
            self._told_warm = False
            return
        if not self._told_warm and not self.warm_in_ms(ms):
            self._told_warm = True
            self._tell("LAMP warm")
        if quiet_s >= self._settings["dark"]:
            self.set(OFF, ms)
            self._tell("LAMP off why=idle")
