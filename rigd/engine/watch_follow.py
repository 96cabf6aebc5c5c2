"""Where the film goes from one live picture to the next, and where it is when it went too fast to be followed."""

from __future__ import annotations

from collections import deque

from msgspec import Struct

from rigd.imaging.live import Area, Likely, Look, shift_between
from rigd.imaging.stillness import Point

# Two looks that agree less than this show nothing in common: the film went too fast, or something came between.
FOLLOWED = 0.35
# The less of the gate both show, the better they must agree: so much more for a whole gate.
_FAR = 0.5
# What movement does not explain, in display levels: noise leaves under 1, the edge of a hand over 10.
CHANGED = 4.0
# The anchor of a rest is kept while the film is within so many px of it: chained shifts would add up their errors.
_ANCHOR_PX = 2.0
# Five seconds of pictures: a rest is over before.
_TRACK = 128
# How a hand slides film: a frame of 120 in 0.8 s is speeded up by 600 mm/s2 and goes 150 mm/s at most (computed, for a
# smooth movement of 63 mm); twice that is the end of it.
HASTE_MM_S2, FASTEST_MM_S = 1000.0, 300.0
# Where the film may be without any haste: the far end of a swing, and what live view cannot tell.
_PLAY_MM = 3.0
# Film is called slow under this, px a picture: nothing is smeared.
_SLOW_PX = 2.0
# Looks at rest that are kept: one for each third of a gate of a strip of 230 mm.
_KEPT, _APART = 16, 0.3
# The same stretch of film at rest agrees better than this over so much of the gate; gaps a whole pitch apart do so over
# less.
_SAME_FILM, _SAME_SHARE = 0.85, 0.4


def lost_mm(speed_mm_s: float, seconds: float) -> float:
    """How far film may be from where it would be if it had gone on as it went, after so long without a picture that
    could be compared: twice the usual haste, and never faster than a hand."""
    return min((FASTEST_MM_S + abs(speed_mm_s)) * seconds, HASTE_MM_S2 * seconds**2)


def bridged_mm(seconds: float) -> float:
    """The same where the speed is known at both ends of that time: a smooth movement goes their mean, give or take an
    eighth of what the haste would make of it."""
    return HASTE_MM_S2 * seconds**2 / 8


class Step(Struct, frozen=True):
    """`moved_mm`: since the picture before, right positive; None where it could not be followed. `found_mm`: since the
    last picture that could, where this one shows film that was seen before; None else."""

    moved_mm: float | None
    found_mm: float | None = None


class Follower:
    """Of one film. `follow` takes each picture in turn; `rested` says that the newest lies still; `forget` that the
    film is another. `track`: where it went lately, um."""

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """Nothing is known of where the film came from."""
        self._points: deque[Point] = deque(maxlen=_TRACK)
        self._anchor: tuple[Look, float] | None = None
        self._px = self._speed_px = 0.0
        self._adrift_px: float | None = None
        self._doubt_mm = 0.0
        self._kept: deque[tuple[Look, float]] = deque(maxlen=_KEPT)

    @property
    def track(self) -> tuple[Point, ...]:
        return tuple(self._points)

    def follow(self, last: tuple[Look, float] | None, one: Look, at: float, area: Area, scale: float) -> Step:
        """One more picture.

        Args:
            last: the look before and the earliest time that it may show, None where there is none of this film.
            scale: px per mm.
        """
        if last is None or last[0].size != one.size or self._anchor is None:
            self._begin(one, at)
            return Step(None)
        seconds = at - last[1]
        shift = shift_between(last[0], one, area, 0.0, self._likely(scale, seconds))
        if shift.agree < FOLLOWED + _FAR * abs(shift.x) / (area[2] - area[0]):
            self._lose(seconds, scale)
            self._begin(one, at)
            return Step(None)
        self._speed_px = shift.x / seconds if seconds > 0 else 0.0
        if shift.changed > CHANGED:
            self._points.clear()
        moved = self._go(one, at, shift.x, shift.y, area, scale)
        return Step(moved / scale, self._found(one, area, scale) if abs(moved) < _SLOW_PX else None)

    def rested(self, one: Look, area: Area) -> None:
        """Remember what the newest look shows, where nothing like it is remembered."""
        apart = _APART * (area[2] - area[0])
        if self._adrift_px is None and all(abs(self._px - px) > apart for _, px in self._kept):
            self._kept.append((one, self._px))

    def anew(self) -> None:
        """It is known by other means where the film lies now: what was seen before it was lost is of no use."""
        if self._adrift_px is not None:
            self._adrift_px = None
            self._kept.clear()

    # -- inside ------------------------------------------------------------------------------------------------------

    def _go(self, one: Look, at: float, along: float, across: float, area: Area, scale: float) -> float:
        """Add this picture to the track; how far the film went, px."""
        x, y = self._px + along, across
        assert self._anchor is not None
        anchor, anchor_px = self._anchor
        if abs(x - anchor_px) < _ANCHOR_PX:
            whole = shift_between(anchor, one, area, x - anchor_px)
            if abs(anchor_px + whole.x - x) < _ANCHOR_PX:
                x, y = anchor_px + whole.x, whole.y
        else:
            self._anchor = (one, x)
            y = 0.0
        moved = x - self._px
        self._px = x
        self._points.append(Point(at, x * 1000.0 / scale, y * 1000.0 / scale))
        return moved

    def _likely(self, scale: float, seconds: float) -> Likely:
        """How far the film may have gone since the last picture, if a hand moves it."""
        reach = HASTE_MM_S2 * seconds**2 / 2 + _PLAY_MM
        return Likely(self._speed_px * seconds, reach * scale, (FASTEST_MM_S * seconds + _PLAY_MM) * scale)

    def _lose(self, seconds: float, scale: float) -> None:
        if self._adrift_px is None:
            self._adrift_px, self._doubt_mm = self._px, _PLAY_MM
        self._px += self._speed_px * seconds
        self._doubt_mm += lost_mm(self._speed_px / scale, seconds)

    def _found(self, one: Look, area: Area, scale: float) -> float | None:
        """Where the film is, by what was seen at rest before; mm from where it was when it was lost."""
        if self._adrift_px is None:
            return None
        fits = [fit for look, px in self._kept if (fit := self._fit(look, px, one, area, scale)) is not None]
        if not fits:
            return None
        lost, self._adrift_px = self._adrift_px, None
        self._px = max(fits)[1]
        self._points.clear()
        self._anchor = (one, self._px)
        return (self._px - lost) / scale

    def _fit(self, look: Look, px: float, one: Look, area: Area, scale: float) -> tuple[float, float] | None:
        """How well a look agrees that was kept at `px`, and where the film then is; None where it shows other film."""
        reach = self._doubt_mm * scale
        if look.size != one.size:
            return None
        likely = Likely(self._px - px, 2.0 * reach, abs(self._px - px) + reach)
        shift = shift_between(look, one, area, None, likely)
        at = px + shift.x
        shared = 1.0 - abs(shift.x) / (area[2] - area[0])
        same = shift.agree > _SAME_FILM and shared > _SAME_SHARE and abs(at - self._px) < reach
        return (shift.agree, at) if same else None

    def _begin(self, one: Look, at: float) -> None:
        self._points.clear()
        self._anchor = (one, self._px)
        self._points.append(Point(at, self._px, 0.0))
