"""Where the film is, after a stop, a lost board or a restart: by the board's own count where that can be trusted, else
by looking. A frame that was taken is known again by its likeness; film without any is wound back until one is."""

from __future__ import annotations

from msgspec import Struct

from rigd.engine.feed_look import FeedLook
from rigd.engine.feed_travel import Arrived, Travel
from rigd.engine.feed_values import Track
from rigd.engine.rig import Rig
from rigd.engine.watch_past import looks_of_past
from rigd.errors import NotReady
from rigd.imaging.live import ALIKE, Likeness, alike
from rigd.model.events import StripLoaded
from rigd.model.events_feed import Moved, MoveIntended
from rigd.model.formats import film_format
from rigd.model.values import Strip
from rigd.ports import Advancer

# Of one strip: twelve events a frame, a dozen frames, and what was corrected in between.
_EVENTS = 1500
# The board's count against the ledger's: the same place but for a step.
_SAME_MM = 0.1


class Past(Struct, frozen=True):
    """What the ledger tells of the strip: how it was moved, and the movement that was begun and not finished."""

    track: Track
    last: Moved | None
    pending: MoveIntended | None


class Finding:
    """Finds the place of one strip. What it cannot tell it asks the operator, who lays the frame into the gate: the
    next press then counts as the answer."""

    def __init__(self, rig: Rig, board: Advancer, look: FeedLook, travel: Travel) -> None:
        self._rig, self._board, self._look, self._travel = rig, board, look, travel
        self._asked: tuple[str, int] | None = None

    async def past(self, strip: Strip) -> Past:
        """What the ledger knows of the strip since it was loaded."""
        events = await self._rig.hub.ledger.read(after=max(0, self._rig.state.seq - _EVENTS))
        track = self._fresh(strip)
        last: Moved | None = None
        pending: MoveIntended | None = None
        for event in (committed.event for committed in events):
            match event:
                case StripLoaded() if event.strip.strip_id == strip.strip_id:
                    track, last, pending = self._fresh(strip), None, None
                case MoveIntended(strip_id=strip.strip_id):
                    pending = event
                case Moved() if pending is not None:
                    last, pending = event, None
                    if event.place is not None and event.at_mm is not None:
                        gear = self._travel.gear or 1.0
                        track.at_mm[event.place] = event.at_mm - (event.off_mm or 0.0) / gear
        return Past(track, last, pending)

    async def find(self, track: Track, strip: Strip, target: int) -> None:
        """Set `track.here`; the film may be moved for it. `target`: the place that is wanted next.

        Raises:
            NotReady: the operator must lay that frame into the gate; then the next call believes it.
        """
        if self._asked == (strip.strip_id, target):
            self._asked = None
            await self._believe(track, target)
            return
        past = await self.past(strip)
        track.at_mm = past.track.at_mm | track.at_mm
        if await self._by_count(track, past):
            return
        await self._by_looking(track, strip, target, past)

    # -- by the board's count ----------------------------------------------------------------------------------------

    async def _by_count(self, track: Track, past: Past) -> bool:
        rest = await self._board.place()
        if not rest.sure or not track.at_mm or past.last is None or past.last.at_mm is None:
            return False
        if past.pending is None and abs(rest.mm - past.last.at_mm) < _SAME_MM:
            track.here = past.last.place
            return track.here is not None
        if past.pending is None:
            return False
        # It was counted on the way: the nearest place is where we are, and the next advance starts from the count.
        pitch = track.pitch_mm(self._travel.usual_mm(track))
        near = min(track.at_mm, key=lambda known: abs(track.at_mm[known] - rest.mm))
        track.here = near + round((rest.mm - track.at_mm[near]) / pitch)
        await self._ended(track, past.pending, rest.mm, track.here)
        return True

    # -- by looking --------------------------------------------------------------------------------------------------

    async def _by_looking(self, track: Track, strip: Strip, target: int, past: Past) -> None:
        sighted = await self._look.at_rest()
        if sighted is None or sighted.open:
            raise self._ask(strip, target, "Nothing can be seen of it." if sighted is None else "The gate is empty.")
        rest = await self._board.place()
        await self._intend(track, rest.mm)
        arrived = await self._travel.nudge(track, 0.0)
        track.faces |= await self._taken(strip, arrived)
        place = await self._recognised(track, arrived, target, past)
        if place is None:
            await self._ended(track, None, rest.mm, None)
            raise self._ask(strip, target, "No frame that was taken is in sight.")

    async def _recognised(self, track: Track, arrived: Arrived, target: int, past: Past) -> int | None:
        """The place in the gate, after as much winding back as it takes; None where nothing tells."""
        for back in range(len(track.faces) + 2):
            if not arrived.there or arrived.sighted is None:
                return None
            face = self._look.face(arrived.sighted)
            place = self._known(track, face)
            if place is None and back == 0 and not face.blank:
                place = self._new(track, target, past)
            if place is None and not track.faces:
                place = target
            if place is not None:
                await self._is_here(track, place, arrived)
                return place
            arrived = await self._travel.nudge(track, -track.pitch_mm(self._travel.usual_mm(track)))
        return None

    def _known(self, track: Track, face: Likeness) -> int | None:
        best = max(track.faces, key=lambda place: alike(face, track.faces[place]), default=None)
        return best if best is not None and alike(face, track.faces[best]) >= ALIKE else None

    def _new(self, track: Track, target: int, past: Past) -> int | None:
        """A frame that shows something and was never taken: the next one, unless a blank may have been passed over."""
        blanks = [place for place, face in track.faces.items() if face.blank and place >= target - 1]
        far = past.pending is not None and abs(past.pending.mm) > 1.5 * self._travel.usual_mm(track)
        return None if blanks or far else target

    async def _taken(self, strip: Strip, arrived: Arrived) -> dict[int, Likeness]:
        """What the frames look like that were taken of this strip, from their files; blanks have no face."""
        roll = self._rig.state.rolls[strip.roll_id]
        frames = [f for f in roll.frames.values() if f.frame.strip_id == strip.strip_id and f.keeper]
        if arrived.sighted is None or not frames:
            return {}
        faces = {f.frame.place: Likeness(b"") for f in frames}
        sight = self._look.eyes.sight()
        return faces | dict(await looks_of_past(self._rig, sight, arrived.sighted.seen, frames))

    # -- words into the ledger ---------------------------------------------------------------------------------------

    async def _is_here(self, track: Track, place: int, arrived: Arrived) -> None:
        rest = await self._board.place(arrived.rest.mm)
        track.at_mm.clear()
        self._travel.lies(track, place, arrived, rest.mm)
        await self._ended(track, None, rest.mm, place, arrived)

    async def _believe(self, track: Track, target: int) -> None:
        """The operator laid that frame into the gate."""
        rest = await self._board.place()
        await self._board.place(rest.mm)
        track.at_mm.clear()
        track.faces.pop(target, None)
        track.rests(target, rest.mm)

    async def _intend(self, track: Track, mm: float) -> None:
        self._rig.phase("find")
        await self._rig.hub.append(MoveIntended(None, 0.0, track.strip_id, None, round(mm, 3)))

    async def _ended(
        self, track: Track, pending: MoveIntended | None, mm: float, place: int | None, arrived: Arrived | None = None
    ) -> None:
        off = arrived.off_mm if arrived else None
        frame_id = pending.frame_id if pending else None
        from_mm = pending.from_mm if pending and pending.from_mm is not None else mm
        tries = arrived.tries if arrived else 0
        off = None if off is None else round(off, 3)
        why = "found" if place else "lost"
        await self._rig.hub.append(Moved(frame_id, round(mm - from_mm, 3), why, place, off, tries, round(mm, 3)))

    def _ask(self, strip: Strip, target: int, why: str) -> NotReady:
        self._asked = (strip.strip_id, target)
        return NotReady(
            "Nobody knows where the film is.",
            why,
            f"Lay frame {target} of strip {strip.number} into the gate, then trigger.",
        )

    def _fresh(self, strip: Strip) -> Track:
        roll = self._rig.state.rolls[strip.roll_id]
        return Track(strip.strip_id, film_format(roll.roll.film_format))
