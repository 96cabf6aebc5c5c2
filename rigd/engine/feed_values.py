"""What is known of a strip that a motor moves, and the limits of moving it."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median

from msgspec import Struct

from rigd.imaging.live import Likeness
from rigd.model.formats import FilmFormat

# A pitch that was measured differs from what was expected by uneven spacing, not by more than this share: then it
# slipped.
_USUAL = 0.1
# The last few frames tell how this film runs.
_REMEMBERED = 9


class FeedLimits(Struct, frozen=True):
    """`sensor_mm`: from the film sensor to the gate's middle. `tolerance_mm`: how far from it a frame may lie.
    `corrections` at most, each after a look. `lamp`: the level of the board's own light (0: it has none)."""

    sensor_mm: float = 50.0
    tolerance_mm: float = 0.2
    corrections: int = 2
    lamp: float = 0.0
    colour: str = "white"


@dataclass
class Track:
    """One strip in the advancer. Places count from 1, as they come into the gate; mm are the board's.

    `here`: the place in the gate, None where that must be found out. `at_mm`: where the film is when that place lies in
    the middle. `ahead_mm`: the same for a place whose edge was seen beside the frame in the gate, `reaches`: how far
    such places really were, over what had been seen. `faces`: what places look like. `tail_mm`: where the film was when
    its end passed the sensor."""

    strip_id: str
    film: FilmFormat
    here: int | None = None
    at_mm: dict[int, float] = field(default_factory=dict)
    ahead_mm: dict[int, float] = field(default_factory=dict)
    reaches: list[float] = field(default_factory=list)
    faces: dict[int, Likeness] = field(default_factory=dict)
    tail_mm: float | None = None

    def rests(self, place: int, at_mm: float) -> None:
        """That place lies in the middle of the gate, with the film at `at_mm`."""
        before, seen = self.at_mm.get(place - 1), self.ahead_mm.pop(place, None)
        if before is not None and seen is not None and abs(at_mm - seen) < _USUAL * abs(seen - before):
            self.reaches = [*self.reaches[1 - _REMEMBERED :], (at_mm - before) / (seen - before)]
        self.here, self.at_mm[place] = place, at_mm

    def sees(self, place: int, at_mm: float) -> None:
        """The edge of that place, the next one, is in sight: it lies in the middle when the film is at `at_mm`."""
        self.ahead_mm = {place: at_mm}

    def pitch_mm(self, usual_mm: float) -> float:
        """From frame to frame: the median of what was measured on this strip, `usual_mm` before."""
        places = sorted(self.at_mm)[-_REMEMBERED:]
        found = sorted((self.at_mm[b] - self.at_mm[a]) / (b - a) for a, b in pairwise(places))
        fitting = [one for one in found if abs(one - usual_mm) < _USUAL * usual_mm]
        return fitting[len(fitting) // 2] if fitting else usual_mm

    def expected_mm(self, place: int, usual_mm: float) -> float | None:
        """Where the film will be when that place lies in the middle; None where no place of the strip is known."""
        if place in self.at_mm:
            return self.at_mm[place]
        if not self.at_mm:
            return None
        before = self.at_mm.get(place - 1)
        if before is not None and place in self.ahead_mm:
            return before + (self.ahead_mm[place] - before) * (median(self.reaches) if self.reaches else 1.0)
        near = min(self.at_mm, key=lambda known: abs(known - place))
        return self.at_mm[near] + (place - near) * self.pitch_mm(usual_mm)

    def slipped(self, mm: float) -> None:
        """The film stayed behind the motor by so much: what was measured before lies further on."""
        self.at_mm = {place: at + mm for place, at in self.at_mm.items()}
        self.ahead_mm = {place: at + mm for place, at in self.ahead_mm.items()}
        self.tail_mm = None if self.tail_mm is None else self.tail_mm + mm

    def mistaken(self, place: int, found: int) -> None:
        """What was taken for `place` is `found`: only that one is known now."""
        at_mm = self.at_mm[place]
        self.faces.pop(place, None)
        self.at_mm = {found: at_mm}
        self.ahead_mm.clear()
        self.here = found

    def exists(self, at_mm: float, sensor_mm: float) -> bool:
        """Whether film is left for a frame whose middle comes at `at_mm`. Where the end has not passed the sensor yet,
        there is. The end lies half a gap behind the last frame: a frame that was not cut off is all there."""
        if self.tail_mm is None:
            return True
        return at_mm < self.tail_mm + sensor_mm - self.film.along_mm / 4
