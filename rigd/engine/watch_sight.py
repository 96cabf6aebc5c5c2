"""What one live picture after the other tells: where the film went, whether it rests, and what lies in the gate.

Blocking and without I/O; some 3 ms a picture, so it runs in a thread.
"""

from __future__ import annotations

from math import hypot

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.watch_follow import FOLLOWED, Follower
from rigd.imaging.live import (
    Area,
    Bed,
    Edge,
    End,
    Lightest,
    Likeness,
    Look,
    Lying,
    band_range,
    bed_of,
    covered,
    edges_in,
    end_in,
    frame_in,
    is_open,
    lamp_beside,
    lies_turned,
    likeness,
    look,
    rebate_share,
    shift_between,
)
from rigd.imaging.stillness import Rest, limit_um, rest, swing_um
from rigd.model.formats import FilmFormat
from rigd.model.words import Tone

# Looks of the same light agree better than this. Where the shutter was changed in between, highlights that clip in one
# of the two shift its edges by up to a third of a pixel.
_SAME_LIGHT, _OTHER_LIGHT_PX = 0.985, 0.5
# A band's pixel outside these display levels is burnt out or black; a look of which more than this share is so cannot
# be compared.
_BURNT, _BLACK, _ILLEGIBLE = 250.0, 4.0, 0.5
# Movement from picture to picture over which edges are not looked for: they are smeared.
_SLOW_MM = 1.0
# A sensor of 24 MP, until a file has told how wide it is.
SENSOR_PX = 6000


class Asked(Struct, frozen=True):
    """What the sight needs to know: the film in the gate, and what is called still. `px_per_mm` of the sensor, where
    it was measured. `pictures`: how many must show no movement."""

    film: FilmFormat
    tone: Tone
    px_per_mm: float | None = None
    pictures: int = 4


class Seen(Struct, frozen=True):
    """One live picture, understood.

    `moved_mm`: how far the film went since the picture before, right positive; None where it could not be followed.
    `rest`: since when it is still, None while it moves; `swing_um` how much it moves. `open`: nothing lies in the gate;
    `dark`: no light at all. `hand`: something dark reaches over the film's rim. `frame`: where a frame lies whole, and
    `edges` every plain edge of any frame (mm right of the gate's middle); both are empty while the film is fast.
    `frozen`: the camera gave the very same picture again, and the rest is that of the picture before. `found_mm`: after
    pictures that could not be followed, how far the film went in all since the last one that could, right positive:
    this look shows what was seen before. None else. `asked`: when the picture was asked for; it shows some moment from
    then to `at`."""

    number: int
    at: float
    look: Look
    bed: Bed | None
    moved_mm: float | None = None
    rest: Rest | None = None
    swing_um: float = 0.0
    limit_um: float = 0.0
    open: bool = False
    hand: bool = False
    frame: Lying | None = None
    edges: tuple[Edge, ...] = ()
    end: End | None = None
    frozen: bool = False
    found_mm: float | None = None
    asked: float = 0.0

    @property
    def late_s(self) -> float:
        """How old the picture may be by the time it came."""
        return self.at - self.asked

    @property
    def dark(self) -> bool:
        return self.bed is None


class Between(Struct, frozen=True):
    """Two looks compared: the film has moved by `um` (infinite: they show nothing in common), of which `allowed_um` may
    be a swing that is small enough, or the measurement."""

    um: float
    allowed_um: float


class Sight:
    """Follows one film in one gate. `see` is called with each picture in turn.

    `scale`: live px per mm as learned from a frame, None before; `length_mm`: this film's own frame length, where it
    was measured; `sensor_px`: the sensor's width, None until a file has told it."""

    def __init__(self, asked: Asked, lightest: Lightest | None = None) -> None:
        self.asked = asked
        self.lightest = lightest or Lightest()
        self.scale: float | None = None
        self.length_mm: float | None = None
        self.sensor_px: int | None = None
        self._along_x = True
        self._last: Seen | None = None
        self._follower = Follower()
        self._settled = False

    def see(
        self, number: int, at: float, jpeg: bytes, expected_mm: float | None = None, asked: float | None = None
    ) -> Seen:
        """Understand the next picture. `expected_mm`: where the middle of the wanted frame should be by now, mm right
        of the gate's middle before this picture's own movement. `asked`: see `Seen`; None: as it came. Raises
        RawUnreadable."""
        one = look(jpeg, self._along_x)
        if self._last is not None and self._last.look.mark == one.mark and not self._last.open:
            return self._again(number, at)
        self.lightest.add(one)
        if self._last is None or self._last.frame is None:
            one = self._turned(one, jpeg)
        bed = bed_of(self.lightest, self.asked.film, self._measured_scale(one))
        seen = Seen(number, at, one, None) if bed is None else self._understood(number, at, one, bed, expected_mm)
        seen = replace(seen, asked=at if asked is None else asked)
        self._learn(seen)
        self._last = seen
        return seen

    @property
    def along_x(self) -> bool:
        """True if the film runs along the live picture, False if from top to bottom."""
        return self._along_x

    def likeness(self, seen: Seen, left_mm: float, right_mm: float) -> Likeness:
        """What the frame between two places looks like."""
        if seen.bed is None:
            return Likeness(b"")
        return likeness(seen.look, seen.bed, self.asked.film, left_mm, right_mm)

    def rebate(self, seen: Seen, from_mm: float, to_mm: float) -> float:
        """How much of the picture's height looks like rebate between two places, 0 to 1."""
        if seen.bed is None:
            return 0.0
        return rebate_share(seen.look, seen.bed, self.asked.film, self.asked.tone, from_mm, to_mm)

    def lamp_beside(self, seen: Seen) -> bool:
        """True if what lies in the gate does not reach over its whole length."""
        return seen.bed is None or lamp_beside(seen.look, seen.bed)

    def settled(self) -> None:
        """The film lies where a frame was just done with. Heard with the next look: one may be in hand."""
        self._settled = True

    def between(self, before: Seen, after: Seen) -> Between | None:
        """How far the film is from where it was; None where one of the two is too light or too dark to tell."""
        if before.bed is None or after.bed is None or before.look.size != after.look.size:
            return None
        area = after.bed.picture(self.asked.film)
        if not (_legible(before.look, area) and _legible(after.look, area)):
            return None
        shift = shift_between(before.look, after.look, area, 0.0)
        scale = 1000.0 / after.bed.px_per_mm
        # Both may be at the far ends of a swing that is small enough.
        allowed = 2.0 * after.limit_um
        if shift.agree < _SAME_LIGHT:
            allowed = max(allowed, _OTHER_LIGHT_PX * scale)
        same = shift.agree >= FOLLOWED
        return Between(hypot(shift.x, shift.y) * scale if same else float("inf"), allowed)

    # -- inside ------------------------------------------------------------------------------------------------------

    def _turned(self, one: Look, jpeg: bytes) -> Look:
        """The look as film lies in it: nobody says whether the camera was turned, but the gate's shape does."""
        if not lies_turned(self.lightest, self.asked.film):
            return one
        self._along_x = not self._along_x
        self.lightest, self._last = Lightest(), None
        self._follower.forget()
        one = look(jpeg, self._along_x)
        self.lightest.add(one)
        return one

    def _learn(self, seen: Seen) -> None:
        """A frame that lies plainly in the gate is a ruler, good to what cameras' gates differ by."""
        if seen.bed is not None and not seen.bed.sure and seen.rest and seen.frame and seen.frame.plain:
            self.scale = seen.frame.length_mm * seen.bed.px_per_mm / self.asked.film.along_mm

    def _again(self, number: int, at: float) -> Seen:
        """The camera gave the same picture twice: it says nothing new, least of all that nothing moves."""
        assert self._last is not None
        last = self._last
        return Seen(number, at, last.look, last.bed, 0.0, last.rest, last.swing_um, last.limit_um, last.open, last.hand,
                    last.frame, last.edges, last.end, frozen=True, asked=at)  # fmt: skip

    def _understood(self, number: int, at: float, one: Look, bed: Bed, expected_mm: float | None) -> Seen:
        film, tone = self.asked.film, self.asked.tone
        limit = self._limit(one, bed)
        if is_open(one, bed):
            self._follower.forget()
            return Seen(number, at, one, bed, None, None, 0.0, limit, open=True)
        if self._settled:
            self._settled = False
            self._follower.anew()
        last = self._last
        before = None if last is None or last.open else (last.look, last.asked)
        step = self._follower.follow(before, one, at, bed.picture(film), bed.px_per_mm)
        moved = 0.0 if last is not None and last.open else step.moved_mm
        track, pictures = self._follower.track, self.asked.pictures
        rested = rest(track, limit, pictures)
        if rested is not None:
            self._follower.rested(one, bed.picture(film))
        frame: Lying | None = None
        edges: tuple[Edge, ...] = ()
        end: End | None = None
        if moved is not None and abs(moved) < _SLOW_MM:
            frame = frame_in(one, bed, film, tone, self.length_mm, expected_mm)
            edges, end = edges_in(one, bed, film, tone), end_in(one, bed, film, tone)
        return Seen(number, at, one, bed, moved, rested, swing_um(track, pictures), limit,
                    hand=bool(covered(one, bed, film, tone)), frame=frame, edges=edges, end=end,
                    found_mm=step.found_mm)  # fmt: skip

    def _limit(self, one: Look, bed: Bed) -> float:
        return limit_um(bed.px_per_mm, bed.px_per_mm * (self.sensor_px or SENSOR_PX) / self._width(one))

    def _measured_scale(self, one: Look) -> float | None:
        if self.asked.px_per_mm is None or self.sensor_px is None:
            return self.scale
        return self.asked.px_per_mm * self._width(one) / self.sensor_px

    def _width(self, one: Look) -> int:
        """Of the live picture as the camera gives it."""
        return one.size[0] if self._along_x else one.size[1]


def _legible(one: Look, area: Area) -> bool:
    left, top, right, bottom = area
    bands = one.along[band_range(top, bottom, one.size[1]), int(left) : int(right)]
    return bands.size > 0 and float(((bands > _BURNT) | (bands < _BLACK)).mean()) < _ILLEGIBLE
