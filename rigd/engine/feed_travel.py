"""Moving the film so that a place of its strip lies in the gate: advance, look, correct; intent first, rest after.

The motor's count alone is trusted where a frame shows no edge (a blank): dead reckoning. Where the frame that was there
before still lies in the gate, the film did not follow.
"""

from __future__ import annotations

from msgspec import Struct

from rigd.engine.feed_look import LEARN_MM, FeedLook, Sighted
from rigd.engine.feed_values import FeedLimits, Track
from rigd.engine.rig import Rig
from rigd.errors import FilmStuck, NotReady
from rigd.imaging.live import ALIKE, alike
from rigd.model.events_feed import GearLearned, Moved, MoveIntended
from rigd.ports import Advancer, Place

# Edges in a live picture 960 pixels wide lie up to 0.12 mm off: what is nearer to the limit than that is corrected.
_MEASURED_MM = 0.12
# A neighbour's edge tells where a blank lies but for the gap, which is uneven: only what is further off has slipped.
_NEIGHBOUR_SHARE = 0.2
# Further from where it was expected than frames are unevenly spaced: it slipped.
_SLIP_SHARE = 0.08
# The film stayed where it was so many times: it is not the motor's any more.
_SLIPS = 2
# A motion that ended early (the film's end, a silent host) is finished in so many goes.
_GOES = 3
# The board's own count is good to a step.
_STEP_MM = 0.05


class Arrived(Struct, frozen=True):
    """`there`: False where no film lies in the gate any more. `rest`: where the film is; `off_mm` and `tries` as in the
    event Moved; `seen`: the last look, None where nobody could look."""

    there: bool
    rest: Place
    off_mm: float | None = None
    tries: int = 0
    sighted: Sighted | None = None


class Travel:
    """Moves one strip. Raises what the board raises; then `track.here` is None: the place must be found again."""

    def __init__(self, rig: Rig, board: Advancer, look: FeedLook, limits: FeedLimits) -> None:
        self._rig, self._board, self._look, self._limits = rig, board, look, limits

    # -- one place after the other -----------------------------------------------------------------------------------

    async def go(self, track: Track, place: int, frame_id: str | None) -> bool:
        """Bring `place` into the gate from another known place; False where the film has no such place. `frame_id`: the
        frame that lies there now."""
        rest = await self._board.place()
        target = track.expected_mm(place, self.usual_mm(track))
        assert target is not None, "whoever goes somewhere knows where the film is"
        if not track.exists(target, self._limits.sensor_mm):
            return False
        before = track.here
        await self._intend(track, place, frame_id, target - rest.mm, rest.mm)
        arrived = await self._arrive(track, place, target, before, rest)
        await self._rested(track, place, frame_id, arrived, rest.mm)
        return arrived.there

    async def centre(self, track: Track, place: int, frame_id: str | None) -> bool:
        """Bring what lies in the gate to its middle: it is `place`. False where nothing lies there."""
        rest = await self._board.place()
        await self._intend(track, place, frame_id, 0.0, rest.mm)
        arrived = await self._centred(track, rest)
        await self._rested(track, place, frame_id, arrived, rest.mm)
        return arrived.there

    async def nudge(self, track: Track, mm: float) -> Arrived:
        """Move by `mm` and centre whatever lies in the gate then; nobody knows which place it is. The intent has been
        committed."""
        return await self._centred(track, await self._move(track, mm))

    def usual_mm(self, track: Track) -> float:
        """The format's pitch in mm of the board."""
        return (track.film.pitch_mm or track.film.along_mm) / abs(self.gear or 1.0)

    @property
    def gear(self) -> float | None:
        return self._rig.state.gear

    # -- inside ------------------------------------------------------------------------------------------------------

    async def _intend(self, track: Track, place: int, frame_id: str | None, mm: float, from_mm: float) -> None:
        self._rig.phase("move")
        await self._rig.hub.append(MoveIntended(frame_id, round(mm, 3), track.strip_id, place, round(from_mm, 3)))
        track.here = None

    async def _rested(self, track: Track, place: int, frame_id: str | None, arrived: Arrived, from_mm: float) -> None:
        rest, off = arrived.rest, arrived.off_mm
        moved = Moved(frame_id, round(rest.mm - from_mm, 3), rest.why, place if arrived.there else None,
                      None if off is None else round(off, 3), arrived.tries, round(rest.mm, 3))  # fmt: skip
        await self._rig.hub.append(moved)
        if arrived.there:
            self.lies(track, place, arrived, rest.mm)

    def lies(self, track: Track, place: int, arrived: Arrived, at_mm: float) -> None:
        """That place lies in the gate, with the film at `at_mm`: remember where, what it looks like, what is beside."""
        track.rests(place, at_mm - (arrived.off_mm or 0.0) / (self.gear or 1.0))
        if arrived.sighted is not None:
            track.faces[place] = self._look.face(arrived.sighted)
            self._look_ahead(track, place, arrived.sighted, at_mm)

    def _look_ahead(self, track: Track, place: int, sighted: Sighted, at_mm: float) -> None:
        """Frames are unevenly spaced: where the next one's edge is in sight already, it is known how far it is."""
        gear = self.gear
        # What the motor has not moved yet lies on the side that film comes from.
        seen = None if gear is None else self._look.beside(sighted, -1 if gear > 0 else 1)
        if gear is not None and seen is not None:
            track.sees(place + 1, at_mm - seen / gear)

    async def _arrive(self, track: Track, place: int, target: float, before: int | None, rest: Place) -> Arrived:
        """From `rest` move there and centre it; again where the same frame still lies in the gate."""
        for _ in range(_SLIPS + 1):
            arrived = await self._centred(track, await self._move_to(track, target, rest))
            if not arrived.there or not self._still_there(track, arrived, before, place):
                return arrived
            pitch = track.pitch_mm(self.usual_mm(track))
            track.slipped(pitch * (1 if place > (before or 0) else -1))
            rest = arrived.rest
            target = rest.mm + (place - (before or 0)) * pitch
        raise FilmStuck(
            "The film does not follow the motor.",
            f"The same frame lay in the gate after {_SLIPS + 1} advances.",
            "Look whether the rollers hold it, free it by hand, and trigger again.",
        )

    def _still_there(self, track: Track, arrived: Arrived, before: int | None, place: int) -> bool:
        known = track.faces.get(before) if before is not None and before != place else None
        if known is None or arrived.sighted is None:
            return False
        return alike(known, self._look.face(arrived.sighted)) >= ALIKE

    async def _centred(self, track: Track, rest: Place) -> Arrived:
        """Look, and correct until the frame lies within the tolerance, or corrections are used up."""
        off: float | None = None
        for tries in range(self._limits.corrections + 1):
            sighted = await self._sighted(track)
            if sighted is not None and sighted.open:
                return Arrived(False, rest, None, tries, sighted)
            gear = self.gear
            if sighted is not None and gear is None:
                rest, gear = await self._learn(track, sighted, rest)
                sighted = await self._sighted(track)
            off = self._off(track, sighted)
            if off is None or gear is None or tries == self._limits.corrections or self._near(off):
                break
            rest = await self._move(track, -off / gear)
            if abs(off) > _SLIP_SHARE * (track.film.pitch_mm or track.film.along_mm):
                track.slipped(-off / gear)
        return Arrived(True, rest, off, tries, sighted)

    def _near(self, off: float) -> bool:
        return abs(off) <= self._limits.tolerance_mm - _MEASURED_MM

    async def _sighted(self, track: Track) -> Sighted | None:
        pitch = track.pitch_mm(self.usual_mm(track)) * abs(self.gear or 1.0)
        return await self._look.at_rest(pitch_mm=pitch)

    def _off(self, track: Track, sighted: Sighted | None) -> float | None:
        """How far the frame is from the middle, mm in the picture; None where the count has to be trusted."""
        found = sighted.offset if sighted is not None else None
        if found is None:
            return None
        least = 0.0 if found.edges else _NEIGHBOUR_SHARE * (track.film.pitch_mm or track.film.along_mm)
        return found.mm if abs(found.mm) >= least else None

    async def _learn(self, track: Track, before: Sighted, rest: Place) -> tuple[Place, float | None]:
        """Move a little forwards and see how far the film went; on a blank there is nothing to see."""
        moved = await self._move(track, LEARN_MM)
        after = await self._sighted(track)
        gear = None if after is None else self._look.gear(before, after, moved.mm - rest.mm)
        if gear is None:
            return await self._move(track, rest.mm - moved.mm), None
        setup = self._rig.state.setup
        await self._rig.hub.append(GearLearned(setup.setup_id if setup else "", round(gear, 5), moved.mm - rest.mm))
        return moved, gear

    async def _move_to(self, track: Track, target: float, rest: Place) -> Place:
        """From `rest` to that place by the board's count, in as many goes as it takes."""
        for _ in range(_GOES):
            if abs(target - rest.mm) < _STEP_MM:
                return rest
            rest = await self._move(track, target - rest.mm)
        if abs(target - rest.mm) < _STEP_MM:
            return rest
        raise NotReady(
            "The advancer stops before it is there.",
            f"It was asked {_GOES} times and ended with {rest.why!r}, {target - rest.mm:+.1f} mm short.",
            "Look after the film and the machine's load; then trigger again.",
        )

    async def _move(self, track: Track, mm: float) -> Place:
        rest = await self._board.advance(mm)
        if rest.edge_mm is not None and not rest.film:
            track.tail_mm = rest.edge_mm
        elif rest.film:
            track.tail_mm = None
        return rest
