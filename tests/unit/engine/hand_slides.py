"""Film slid by a hand through rendered live pictures, at moments of the test's own choice: no camera, no clock."""

from __future__ import annotations

import random

from tests.unit.imaging.live_views import View

from rigd.engine.arming import FilmPlace
from rigd.engine.arming_values import Found, Wanted, What
from rigd.engine.watch_sight import Asked, Seen, Sight
from rigd_sim.scene.roll import Frame

# Looks after the film has come to rest before it is taken as decided.
_TRIES = 10


class HandSlides:
    """Watches one strip. `pace_s`: from one picture to the next, between these two."""

    def __init__(self, view: View, chance: random.Random, pace_s: tuple[float, float]) -> None:
        self.view, self.chance, self.pace_s = view, chance, pace_s
        self.sight = Sight(Asked(view.film, view.tone))
        self.place = FilmPlace(view.film, 0.5)
        self.seen: Seen | None = None
        self._number = 0

    def lay(self) -> None:
        """An empty gate, then the first strip glides in."""
        self.view.lay(None)
        self._look(Wanted(None, 1, True))
        self.view.scene.lay(1, seconds=0.8)

    def slide(self, frame: Frame, off_mm: float, seconds: float) -> None:
        self.view.scene.slide(frame=frame.place, off_mm=off_mm, seconds=seconds)

    def decide(self, wanted: Wanted) -> Found:
        """What is found where the film comes to rest."""
        for _ in range(200):
            seen = self._look(wanted)
            found = self.place.find(seen, wanted, self.sight)
            if seen.rest is not None and found.what in (What.WANTED, What.UNSURE):
                return found
            self._number += 1
            if self.view.at > self.view.scene.motion.last.finish + _TRIES * self.pace_s[1]:
                return found
        raise AssertionError("the film never came to rest")

    def take(self, found: Found, place: int) -> None:
        """The frame that was found is taken."""
        assert self.seen is not None
        look = self.sight.likeness(self.seen, found.left_mm, found.right_mm)
        self.place.lies()
        self.place.done("s", place, found.left_mm, found.right_mm, self.place.here_mm, look, found.edges, 1)
        self.sight.settled()

    def lies(self, frame: Frame) -> bool:
        """True if that frame really lies about the gate's middle."""
        return abs(self.view.scene.motion.position(self.view.at) - frame.centre) < 3.0

    def _look(self, wanted: Wanted) -> Seen:
        before = self.seen
        self._number += 1
        self.view.at += self.chance.uniform(*self.pace_s)
        self.seen = self.sight.see(self._number, self.view.at, self.view.jpeg(), self.place.expected_mm(wanted))
        self.place.follow(self.seen, wanted.forwards, self.seen.at - before.at if before else 0.0)
        return self.seen
