"""The motor: steps at their times, and all that ends a motion before its target."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from copy import copy
from enum import Enum

from rigd_sim.board.film import FilmWatch, Seen, Track
from rigd_sim.board.ramp import Ramp
from rigd_sim.board.settings import FLIP_MOTOR, Settings

TICKS_PER_MS = 2000


class Seek(Enum):
    NOTHING = ""
    FILM = "film"
    CLEAR = "clear"


class Shaft:
    """What the motor turns: the film, steps in all and forwards less backwards, and when the last ones were made."""

    LOGGED = 1 << 16

    def __init__(self, track: Track) -> None:
        self.track = track
        self.count = self.net = 0
        self.log: deque[int] = deque(maxlen=self.LOGGED)

    def turn(self, way: int, tick: int) -> None:
        self.count += 1
        self.net += way
        self.log.append(tick)
        self.track.move(way)


class Motion:
    """One motor. `tell` takes the words of an event."""

    def __init__(self, film: FilmWatch, settings: Settings, tell: Callable[[str], None], shaft: Shaft) -> None:
        self.film, self._settings, self._tell, self._shaft = film, settings, tell, shaft
        self.at = 0
        self.going = self.sure = self.gripped = False
        self.why = "none"
        self.due = 0
        """When going: the tick of the next step."""
        self._ramp = Ramp(0, 1, 1)
        self._way = 1
        self._ending = ""
        self._seek = Seek.NOTHING
        self._ms = 0

    def start(self, steps: int, speed: int, seek: Seek, tick: int) -> None:
        """Begin a motion; the first step comes a millisecond later."""
        self._ramp = Ramp(abs(steps), speed, self._settings["ramp"])
        self._way = -1 if steps < 0 else 1
        self._ending, self._seek, self._ms = "done", seek, 0
        self.gripped = self.going = True
        self.film.start()
        self.due = tick + TICKS_PER_MS

    def step(self) -> None:
        """Make the step that is due, and work out when the next one is."""
        turned_over = self._settings["flip"] & FLIP_MOTOR
        self._shaft.turn(-self._way if turned_over else self._way, self.due)
        self.at += self._way
        self._ramp.left -= 1
        self._look(self.film.step(self.at))
        if self.going and self._ramp.left == 0:
            self._finish(self._ending)
        if self.going:
            self.due += self._ramp.next()

    def forecast(self) -> tuple[int, int]:
        """Steps that the film will have moved when this motion has ended undisturbed, and the tick at which it will."""
        track = copy(self.film.track)
        before = track.at
        other = copy(self)
        other.film = self.film.elsewhere(track)
        other._ramp, other._shaft, other._tell = copy(self._ramp), Shaft(track), lambda words: None
        latest = self.due + self._settings["longest"] * TICKS_PER_MS
        while other.going and other.due < latest:
            other.step()
        return track.at - before, other.due

    def _look(self, seen: Seen) -> None:
        sought = {Seek.FILM: (Seen.CAME,), Seek.CLEAR: (Seen.WENT, Seen.SPENT)}.get(self._seek, ())
        if seen is Seen.STUCK:
            self.abort("stall")
        elif seen in sought:
            self.ease("seen")
        elif seen is Seen.SPENT and self._seek is Seek.NOTHING:
            self.ease("end")

    def _finish(self, why: str) -> None:
        self.going = False
        self.why = why
        edge = "" if self.film.edge_at is None else f" edge={self.film.edge_at}"
        self._tell(f"REST at={self.at} why={why}{edge}")

    def ease(self, why: str) -> None:
        """Slow down along the ramp; nothing at rest."""
        if self.going and (self._ramp.ease() or why == "seen"):
            self._ending = why

    def abort(self, why: str) -> None:
        """No further step; the place is no longer sure."""
        self.sure = False
        if self.going:
            self._finish(why)

    def every_ms(self, quiet_ms: int, fault: bool) -> None:
        """The limits in time."""
        if not self.going:
            return
        self._ms += 1
        if fault:
            self.abort("fault")
        elif quiet_ms >= self._settings["silence"]:
            self.ease("silent")
        elif self._ms >= self._settings["longest"]:
            self.ease("time")

    def grip(self, on: bool) -> None:
        """Current in the motor, or the film can be moved by hand."""
        self.gripped = on
        self.sure = self.sure and on

    def declare(self, at: int) -> None:
        self.at, self.sure = at, True
