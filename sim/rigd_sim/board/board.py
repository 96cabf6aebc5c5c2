"""The board as a function of time: bytes and pins in, bytes out, between two moments of its own clock."""

from __future__ import annotations

from collections.abc import Callable

from rigd_sim.board.commands import Refused, carry_out
from rigd_sim.board.film import FilmWatch, Track
from rigd_sim.board.lamp import OFF, Lamp
from rigd_sim.board.lines import Command, Receiver, line
from rigd_sim.board.motion import TICKS_PER_MS, Motion, Seek, Shaft
from rigd_sim.board.pedals import Pedal
from rigd_sim.board.settings import FLIP_PEDALS, Settings

ESC = 0x1B


class Outside:
    """What the board is wired to and what outlives a reset: EEPROM, pins, film, lamp, and who wants to know."""

    def __init__(self) -> None:
        self.eeprom = bytearray(1024)
        self.pin = {"stop": False, "pedal1": False, "pedal2": False, "fault": False}
        self.track = Track()
        self.shaft = Shaft(self.track)
        self.lamp: tuple[int, ...] = OFF
        self.motions: list[list[int]] = []
        """Ticks at which each motion began and ended; one that is under way has no end yet."""
        self.began: Callable[[Board], None] = lambda board: None
        """Called when a motion begins; `rested` when it has ended; `shone` when the lamp changes."""
        self.rested: Callable[[Board], None] = lambda board: None
        self.shone: Callable[[tuple[int, ...]], None] = lambda levels: None


class Board:
    """From one reset to the next. `send` takes a tick and the line begun then; `why` is the kind of reset."""

    def __init__(self, outside: Outside, send: Callable[[int, bytes], None], why: str = "power", tick: int = 0) -> None:
        self._outside, self._send = outside, send
        self.pin = outside.pin
        self.settings = Settings(outside.eeprom)
        self.tick, self._began_at, self.ms = tick, tick, 0
        self.latched = False
        self._event = 0
        self._heard_ms = 0
        self._receiver = Receiver()
        self._answered: tuple[int, int] = (0, 0)
        self._answer = b""
        film = FilmWatch(outside.track, self.settings, self.tell)
        self.motion = Motion(film, self.settings, self.tell, outside.shaft)
        self.lamp = Lamp(self.settings, self.tell, self._shine)
        outside.lamp = OFF
        self._pedals = [Pedal(n, lambda n=n: self._contact(n), self.tell) for n in (1, 2)]  # type: ignore[misc]
        self.tell(f"BOOT why={why} boot={self.settings.boot}")

    def _contact(self, number: int) -> bool:
        return self.pin[f"pedal{number}"] != bool(self.settings["flip"] & FLIP_PEDALS)

    def _shine(self, levels: tuple[int, ...]) -> None:
        self._outside.lamp = levels
        self._outside.shone(levels)

    def tell(self, words: str) -> None:
        """Send an event."""
        self._send(self.tick, line("#", self._event, words))
        self._event = 1 if self._event == 255 else self._event + 1

    def run(self, until: int) -> None:
        """Let time pass up to that tick: steps and milliseconds in their order."""
        while True:
            next_ms = self._began_at + (self.ms + 1) * TICKS_PER_MS
            if self.motion.going and self.motion.due <= min(next_ms, until):
                self.tick = self.motion.due
                self._step()
            elif next_ms <= until:
                self.tick = next_ms
                self._every_ms()
            else:
                self.tick = max(self.tick, until)
                return

    def _step(self) -> None:
        self.motion.step()
        self._note_rest()

    def _note_rest(self) -> None:
        if self.motion.going:
            return
        if self._outside.motions and len(self._outside.motions[-1]) == 1:
            self._outside.motions[-1].append(self.tick)
        self._outside.rested(self)

    def _every_ms(self) -> None:
        self.ms += 1
        quiet = self.ms - self._heard_ms
        if self.pin["stop"]:
            self.stop("input")
        for pedal in self._pedals:
            pedal.every_ms(self.ms)
        if self.motion.going:
            self.motion.every_ms(quiet, self.pin["fault"])
            self._note_rest()
        else:
            self.motion.film.every_ms(self.motion.at)
        self.lamp.every_ms(self.ms, quiet // 1000)

    def begin(self, steps: int, speed: int, seek: Seek) -> None:
        """A motion begins now."""
        self.motion.start(steps, speed, seek, self.tick)
        self._outside.motions.append([self.tick])
        self._outside.began(self)

    def stop(self, by: str) -> None:
        """Everything off at once, and latched."""
        if self.latched:
            return
        self.latched = True
        going = self.motion.going
        self.motion.abort("stop")
        self.motion.grip(False)
        self.lamp.set(OFF, self.ms)
        self.tell(f"STOP by={by} at={self.motion.at}")
        if going:
            self._note_rest()

    def set_pin(self, name: str, on: bool) -> None:
        """An input changes; the stop acts without waiting."""
        self.pin[name] = on
        if name == "stop" and on:
            self.stop("input")

    def take(self, byte: int) -> None:
        """A byte has arrived."""
        if byte == ESC:
            self.stop("host")
        for found in self._receiver.take(byte):
            if found is None:
                self._send(self.tick, line("!", 0, "GARBLED"))
            else:
                self._command(found)

    def _command(self, command: Command) -> None:
        self._heard_ms = self.ms
        if (command.number, command.check) != self._answered:
            try:
                self._answer = line("<", command.number, carry_out(self, command.words))
            except Refused as refusal:
                self._answer = line("!", command.number, str(refusal))
            greeting = command.words.startswith("HELLO")
            self._answered = (0 if greeting else command.number, command.check)
        self._send(self.tick, self._answer)
