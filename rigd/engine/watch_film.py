"""The film in the gate as the watch knows it: fed with looks and with what happens to frames."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.arming import FilmPlace
from rigd.engine.arming_values import Found, Wanted
from rigd.engine.places import new_strip
from rigd.engine.rig import Rig
from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_past import looks_of_past
from rigd.engine.watch_sight import Seen
from rigd.engine.watch_target import forwards_of, wanted_of
from rigd.imaging.live import Likeness
from rigd.model.events import Advanced, StripLoaded, Triggered
from rigd.model.formats import film_format

# Film that was not watched for longer than this may be any other; if it lies within so many mm it is the same.
_UNWATCHED_S, _SAME_MM = 2.0, 1.0


class Pending(Struct, frozen=True):
    """A take that is being made: where its frame lies and what it looks like. `frame_id` once it is known."""

    nonce: str
    left_mm: float
    right_mm: float
    here_mm: float
    look: Likeness
    edges: bool
    frame_id: str | None = None


class FilmKeeper:
    """`again`: the frame that was recalled to be taken once more; `last`: the newest look."""

    def __init__(self, rig: Rig, eyes: Eyes) -> None:
        self.again: str | None = None
        self.last: Seen | None = None
        self._rig = rig
        self._eyes = eyes
        self._place: FilmPlace | None = None
        self._pending: Pending | None = None
        self._roll_id: str | None = None
        self._forwards = 1
        self._primed: set[str] = set()

    def begin(self) -> None:
        """Nobody watched until now."""
        self.last = self._pending = None
        if self._place is not None and self._place.adrift:
            # Whoever arms now has laid the frame that was asked for.
            self._place.forget()

    def wanted(self) -> Wanted | str:
        """The frame to take when it lies in the gate, or in words why there is none."""
        wanted = wanted_of(self._rig.state, self.again)
        if isinstance(wanted, Wanted):
            self._forwards = wanted.forwards
        return wanted

    def undecided(self) -> bool:
        """True while it is not known what became of the last take."""
        pending = self._pending
        if pending is not None and pending.frame_id is not None and pending.frame_id == self._rig.state.frame_id:
            # It ended without an advance: somebody paused it, or is asked. It is no news any more.
            self._pending = None
        return self._pending is not None

    def find(self, seen: Seen, wanted: Wanted) -> Found:
        return self._film().find(seen, wanted, self._eyes.sight())

    def expected_mm(self) -> float | None:
        """Where the middle of the wanted frame should lie, right of the gate's middle; None where nobody knows."""
        wanted = self.wanted()
        return self._place.expected_mm(wanted) if self._place is not None and isinstance(wanted, Wanted) else None

    # -- what is seen --------------------------------------------------------------------------------------------------

    def follow(self, seen: Seen, busy: bool) -> None:
        """Take in one more look. `busy`: a take is being made, and live view was off for as long as it needed."""
        place, last = self._film(), self.last
        self.last = seen
        # The picture before may have shown any moment from when it was asked for.
        seconds = seen.at - last.asked if last is not None else 0.0
        same = seen.open or (seen.moved_mm is not None and abs(seen.moved_mm) < _SAME_MM)
        unwatched = last is None or (seconds > _UNWATCHED_S and not busy and self._pending is None)
        if unwatched and not same:
            place.forget()
        else:
            place.follow(seen, self._forwards, seconds)

    async def prime(self, seen: Seen) -> None:
        """Once a strip: learn from the files what its frames look like that were taken before anybody watched."""
        place, roll = self._film(), self._rig.state.roll
        strip_id = self._rig.state.strip_id or (max(roll.strips, default=None) if roll else None)
        if roll is None or strip_id is None or strip_id in self._primed or seen.dark or seen.open:
            return
        self._primed.add(strip_id)
        missing = [f for f in roll.frames.values() if f.keeper and f.frame.strip_id == strip_id
                   and not place.knows(strip_id, f.frame.place)]  # fmt: skip
        for number, look in await looks_of_past(self._rig, self._eyes.sight(), seen, missing):
            place.remember(strip_id, number, look)
        if not all(place.knows(strip_id, f.frame.place) for f in missing):
            place.wary_from = place.here_mm

    async def next_strip(self, seen: Seen, wanted: Wanted) -> bool:
        """Film after no film is the next strip, where nobody said how many frames the one before has."""
        state, place = self._rig.state, self._film()
        strip, roll = state.strip, state.roll
        if not place.fresh or seen.open or seen.dark or strip is None or roll is None or wanted.place == 1:
            return False
        if strip.places is not None or self.again is not None or state.frame is not None:
            return False
        await self._rig.hub.append(StripLoaded(new_strip(state, roll, None, None, None, assumed=True)))
        return True

    # -- what happens to frames ----------------------------------------------------------------------------------------

    def expect(self, nonce: str, found: Found, seen: Seen) -> None:
        """A take of what was found is asked for."""
        sight = self._eyes.sight()
        if found.edges:
            sight.length_mm = found.right_mm - found.left_mm
        look = sight.likeness(seen, found.left_mm, found.right_mm)
        self._pending = Pending(nonce, found.left_mm, found.right_mm, self._film().here_mm, look, found.edges)
        self._film().lies()

    def refused(self) -> None:
        """Nothing was taken."""
        self._pending = None

    def triggered(self, event: Triggered) -> None:
        """A take begins: what lies in the gate now is that frame, whoever triggered."""
        if self._pending is None or self._pending.nonce != event.nonce:
            self._pending = self._lying(event.nonce)
            if self._place is not None:
                self._place.lies()
        if self._pending is not None:
            self._pending = replace(self._pending, frame_id=event.frame_id)

    def advanced(self, event: Advanced) -> None:
        """A frame is done with. One that was not taken is passed over where the grid of frames says it lies."""
        pending, place, roll = self._pending, self._place, self._rig.state.roll_of(event.frame_id)
        self.again = None if self.again == event.frame_id else self.again
        self._pending = None
        if place is None or roll is None:
            return
        frame = roll.frames[event.frame_id].frame
        forwards = forwards_of(roll.strips[frame.strip_id])
        if pending is None or pending.frame_id != event.frame_id:
            middle = place.expected_mm(Wanted(frame.strip_id, frame.place, forwards=forwards))
            pending = self._lying("") if middle is None else _passed(place, middle)
        if pending is not None:
            place.done(frame.strip_id, frame.place, pending.left_mm, pending.right_mm, pending.here_mm, pending.look,
                       pending.edges, forwards)  # fmt: skip
            self._eyes.sight().settled()

    # -- inside ------------------------------------------------------------------------------------------------------

    def _film(self) -> FilmPlace:
        """The place of the current roll's film; film of another roll must leave the gate first."""
        roll = self._rig.state.roll
        assert roll is not None, "whoever looks has asked can_see"
        if self._place is None or self._roll_id != roll.roll.roll_id:
            before, self._roll_id = self._place, roll.roll.roll_id
            self._place = FilmPlace(film_format(roll.roll.film_format), self._rig.stilling.margin_mm)
            self._place.must_leave = before is not None and self.last is not None and not self.last.open
            self._primed.clear()
        return self._place

    def _lying(self, nonce: str) -> Pending | None:
        """Whatever lies in the gate now, taken or done with by somebody else."""
        seen, place = self.last, self._place
        if seen is None or place is None or seen.bed is None or seen.open:
            return None
        frame = seen.frame if seen.frame is not None and seen.frame.plain else None
        left, right = (frame.left_mm, frame.right_mm) if frame else (-place.length_mm / 2, place.length_mm / 2)
        look = self._eyes.sight().likeness(seen, left, right)
        return Pending(nonce, left, right, place.here_mm, look, frame is not None)


def _passed(place: FilmPlace, middle_mm: float) -> Pending:
    half = place.length_mm / 2
    return Pending("", middle_mm - half, middle_mm + half, place.here_mm, Likeness(b""), False)
