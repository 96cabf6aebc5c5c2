"""The film under the board's sensor: a piece of film as it lies, and what the board makes of what it sees of it."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from enum import Enum, auto

from rigd_sim.board.settings import FLIP_FILM, Settings

ENTER_STEPS = 4  # steps in a row with film before it counts as come
REST_MS = 20  # at rest, a change must last so long


@dataclass
class Track:
    """A piece of film, in steps: its leading edge reaches the sensor when `at` is `lead`; holes come every `pitch`."""

    lead: int = 0
    length: int = 0
    pitch: int = 0
    hole: int = 0
    at: int = 0
    stuck: bool = False

    def covers(self) -> bool:
        """Whether there is film over the sensor, and no hole."""
        into = self.at - self.lead
        return 0 <= into < self.length and (not self.pitch or into % self.pitch >= self.hole)

    def move(self, steps: int) -> None:
        """The motor's steps; a stuck film stays."""
        if not self.stuck:
            self.at += steps


class Seen(Enum):
    SAME = auto()
    CAME = auto()
    WENT = auto()
    STUCK = auto()
    SPENT = auto()


class FilmWatch:
    """The board's bookkeeping of its film sensor, step by step. `tell` takes the words of an event."""

    def __init__(self, track: Track, settings: Settings, tell: Callable[[str], None]) -> None:
        self.track, self._settings, self._tell = track, settings, tell
        self.there = False
        self.edges = 0
        self.edge_at: int | None = None
        """Where an end of the film passed during this motion."""
        self._ended = False
        self._level = False
        self._lit = self._dark = self._since_edge = self._past_end = self._run_at = self._resting_ms = 0

    def covered(self) -> bool:
        return self.track.covers() != bool(self._settings["flip"] & FLIP_FILM)

    def elsewhere(self, track: Track) -> FilmWatch:
        """The same bookkeeping over another track, telling nobody."""
        other = copy(self)
        other.track, other._tell = track, lambda words: None
        return other

    def start(self) -> None:
        """A motion begins."""
        self.edge_at = None
        self._ended = False
        self._lit = self._dark = self._since_edge = self._past_end = 0
        self._level = self.covered()

    def step(self, at: int) -> Seen:
        """The film has moved with a step, to place `at`."""
        now = self._count_edges(at)
        if not self.there:
            if now:
                return self._came(at)
            self._past_end += self._ended
            return Seen.SPENT if self._spent() else Seen.SAME
        if not now:
            return self._went(at)
        slack = self._settings["slack"]
        return Seen.STUCK if slack and self._since_edge > slack else Seen.SAME

    def _count_edges(self, at: int) -> bool:
        now = self.covered()
        self._since_edge += 1
        if now != self._level:
            self._level = now
            self.edges = (self.edges + 1) & 0xFFFF
            self._since_edge = self._lit = self._dark = 0
            self._run_at = at
        return now

    def _came(self, at: int) -> Seen:
        if self._lit == 0 and self._since_edge > 0:
            self._run_at = at
        self._lit += 1
        if self._lit < ENTER_STEPS:
            return Seen.SAME
        self.there = True
        self._since_edge = 0
        self.edge_at = self._run_at
        self._tell(f"FILM in at={self._run_at}")
        return Seen.CAME

    def _went(self, at: int) -> Seen:
        if self._dark == 0 and self._since_edge > 0:
            self._run_at = at
        self._dark += 1
        if self._dark < self._settings["tail"]:
            return Seen.SAME
        self.there = False
        self._ended = True
        self.edge_at = self._run_at
        self._past_end = self._dark
        self._tell(f"FILM out at={self._run_at}")
        return Seen.SPENT if self._spent() else Seen.WENT

    def _spent(self) -> bool:
        return self._ended and self._past_end > self._settings["overrun"]

    def every_ms(self, at: int) -> None:
        """At rest: film laid or taken by hand."""
        now = self.covered()
        if now == self.there:
            self._resting_ms = 0
        elif not (self.there and self._settings["slack"]):
            self._resting_ms += 1
            if self._resting_ms >= REST_MS:
                self._resting_ms = 0
                self.there = now
                self._tell(f"FILM {'in' if now else 'out'} at={at}")
