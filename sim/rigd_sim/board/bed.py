"""The board on its bed: line, terminal and the clock that moves them, and the verbs of the control socket."""

from __future__ import annotations

import asyncio
import time

from rigd_sim.board.board import Outside
from rigd_sim.board.terminal import Terminal
from rigd_sim.board.wire import Line, Spoil
from rigd_sim.control.server import Verb

TICKS_PER_US = 2
CYCLES_PER_TICK = 8
MOVING_S, RESTING_S = 0.004, 0.02
"""How often time is caught up with: a film's end may be told that late; a byte or a pin wakes at once."""


class Bed:
    """With `held` time stands still and the verb `advance` moves it; else it runs with the clock, times `speed`."""

    def __init__(self, terminal: Terminal, held: bool, speed: float = 1.0) -> None:
        self._terminal, self._held, self._speed = terminal, held, speed
        self.outside = Outside()
        self.line = Line(self.outside, terminal.write)
        self._wake = asyncio.Event()
        self._opened = False
        self._reset_on_open = False
        self._origin = 0.0
        self._origin_tick = 0
        self._restart_clock()

    def _restart_clock(self) -> None:
        self._origin, self._origin_tick = time.monotonic(), self.line.tick

    def catch_up(self) -> None:
        """Take what the host has sent, and let time pass up to now."""
        self._listen()
        if not self._held:
            since = (time.monotonic() - self._origin) * self._speed
            self.line.run(self._origin_tick + int(since * 1e6) * TICKS_PER_US)

    def _listen(self) -> None:
        opened = self._terminal.opened() is not None
        if opened and not self._opened and self._reset_on_open:
            self.line.reset("reset", deaf=True)
        self._opened = opened
        self.line.receive(self._terminal.read())

    async def run(self) -> None:
        """Keep up with the clock until cancelled."""
        while True:
            if not self._held:
                self.catch_up()
            await self._pause()

    async def _pause(self) -> None:
        loop = asyncio.get_running_loop()
        descriptor = None if self._held else self._terminal.opened()
        if descriptor is not None:
            loop.add_reader(descriptor, self._wake.set)
        try:
            await asyncio.wait_for(self._wake.wait(), None if self._held else self._patience())
        except TimeoutError:
            pass
        finally:
            if descriptor is not None:
                loop.remove_reader(descriptor)
            self._wake.clear()

    def _patience(self) -> float:
        due = self.line.due()
        limit = MOVING_S if self.line.board.motion.going else RESTING_S
        ahead = limit if due is None else (due - self.line.tick) / TICKS_PER_US / 1e6
        return min(limit, ahead) / self._speed

    def verbs(self) -> dict[str, Verb]:
        """The control socket's table, the same as the bench's of the compiled firmware (hardware/bench)."""
        return {
            "advance": self._advance, "pace": self._pace, "look": self._look, "steps": self._steps, "pin": self._pin,
            "film": self._film, "pull": self._pull, "stick": self._stick, "spoil": self._spoil, "stuff": self._stuff,
            "eeprom": self._eeprom, "reset": self._reset, "plug": self._plug, "reset_on_open": self._on_open,
            "motions": self._motions,
        }  # fmt: skip

    def _look(self) -> dict[str, object]:
        self._listen()
        board, shaft = self.line.board, self.outside.shaft
        return {
            "us": self.line.tick // TICKS_PER_US,
            "sent": self.line.sent,
            "got": self.line.got,
            "steps": shaft.count,
            "net": shaft.net,
            "enabled": int(board.motion.gripped),
            "supply": int(any(self.outside.lamp)),
            "covered": int(self.outside.track.covers()),
            "lamp": list(self.outside.lamp),
        }

    def _changed(self) -> dict[str, object]:
        self._wake.set()
        return self._look()

    def _advance(self, us: int) -> dict[str, object]:
        """Let so much time pass."""
        self._listen()
        self.line.run(self.line.tick + us * TICKS_PER_US)
        return self._look()

    def _pace(self, how: str) -> dict[str, object]:
        """`held`, or `real` from now on."""
        self.catch_up()
        self._held = how == "held"
        self._restart_clock()
        return self._changed()

    def _steps(self, since: int = 0) -> list[int]:
        """Cycles (16 MHz) at which the steps from number `since` on were made; the last 65536 are known."""
        self.catch_up()
        shaft = self.outside.shaft
        known = list(shaft.log)[max(0, since - shaft.count + len(shaft.log)) :]
        return [tick * CYCLES_PER_TICK for tick in known]

    def _motions(self) -> list[list[float]]:
        """When each motion began and ended, seconds since the epoch; the twin alone tells that."""
        self.catch_up()
        base = time.time() - time.monotonic() + self._origin
        scale = TICKS_PER_US * 1e6 * self._speed
        return [[base + (tick - self._origin_tick) / scale for tick in one] for one in self.outside.motions]

    def _pin(self, name: str, on: bool) -> dict[str, object]:
        """An input: stop (on: open), pedal1, pedal2 (on: pressed), fault (on: there is one)."""
        self.catch_up()
        if name not in self.outside.pin:
            raise ValueError(f"no input {name!r}")
        self.line.board.set_pin(name, bool(on))
        return self._changed()

    def _film(self, lead: int = 0, length: int = 0, pitch: int = 0, hole: int = 0) -> dict[str, object]:
        """Lay a film whose leading edge is `lead` steps before the sensor; `length` 0 takes it away."""
        self.catch_up()
        track = self.outside.track
        track.lead, track.length, track.pitch, track.hole, track.at = lead, length, pitch, hole, 0
        return self._changed()

    def _pull(self, steps: int) -> dict[str, object]:
        """By hand."""
        self.catch_up()
        self.outside.track.at += steps
        return self._changed()

    def _stick(self, on: bool = True) -> dict[str, object]:
        """The film does not follow the motor."""
        self.catch_up()
        self.outside.track.stuck = bool(on)
        return self._changed()

    def _spoil(self, way: str, how: str, skip: int = 0, count: int = 1, mask: int = 1) -> dict[str, object]:
        """Lose or flip bytes that go `in` to the board or `out` of it."""
        self.catch_up()
        if way not in ("in", "out") or how not in ("lose", "flip"):
            raise ValueError(f"nothing to spoil: {way} {how}")
        self.line.spoil[way] = Spoil(how, skip, count, mask)
        return self._look()

    def _stuff(self, way: str, hex: str) -> dict[str, object]:
        """Put raw bytes on the line."""
        self.catch_up()
        data = bytes.fromhex(hex)
        if way == "in":
            self.line.receive(data)
            self.line.got -= len(data)  # they are not the host's
        else:
            self.line.deliver(data)
        return self._changed()

    def _eeprom(self, at: int = -1, byte: int = 0xFF) -> str:
        """The EEPROM as hex digits; with `at`, that byte is overwritten first."""
        if at >= 0:
            self.outside.eeprom[at] = byte
        return self.outside.eeprom.hex()

    def _reset(self, why: str = "reset") -> dict[str, object]:
        """As by its button or its supply; film, pins and EEPROM stay."""
        self.catch_up()
        self.line.reset(why)
        return self._changed()

    def _plug(self, on: bool = True) -> dict[str, object]:
        """The cable in, or out."""
        self.catch_up()
        if on:
            self._terminal.plug()
        else:
            self._terminal.unplug()
        return self._changed()

    def _on_open(self, on: bool = True) -> dict[str, object]:
        """Whether opening the port resets the board, as real ones do."""
        self._reset_on_open = bool(on)
        return self._look()
