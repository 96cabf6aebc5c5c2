"""What an order means, brought into the middle of the gate, from wherever the film is."""

from __future__ import annotations

from rigd.engine.feed_draw import draw_in
from rigd.engine.feed_find import Finding
from rigd.engine.feed_look import FeedLook
from rigd.engine.feed_travel import Travel
from rigd.engine.feed_values import FeedLimits, Track
from rigd.engine.places import placing
from rigd.engine.rig import Rig
from rigd.errors import NotReady
from rigd.imaging.live import ALIKE, alike
from rigd.model.events import StripLoaded
from rigd.model.events_feed import FilmEnded
from rigd.model.values import Strip
from rigd.ports import Advancer


class FeedGate:
    """Keeps the track of the strip in the advancer. `track` is None where nobody knows which strip that is."""

    def __init__(self, rig: Rig, board: Advancer, look: FeedLook, travel: Travel, limits: FeedLimits) -> None:
        self._rig, self._board, self._look, self._travel, self._limits = rig, board, look, travel, limits
        self._finding = Finding(rig, board, look, travel)
        self.track: Track | None = None

    async def bring(self) -> tuple[Track, Strip]:
        """The frame that an order would take now, into the middle of the gate.

        Raises:
            NotReady: somebody must lay film in, or the strip has no such frame. BoardError: as the board says.
        """
        strip, place = await self._meant()
        track = await self._track_of(strip)
        if track.here is None:
            await self._locate(track, strip, place)
        elif track.here == place:
            await self._is_it(track, strip, place)
        if track.here != place and not await self._travel.go(track, place, self.frame_id(strip, track.here)):
            last = track.here if track.here is not None else place - 1
            await self._rig.hub.append(FilmEnded(strip.strip_id, last, "No film follows."))
            raise NotReady(f"Strip {strip.number} has no frame {place}.", "No film follows.", "Lay the next strip.")
        return track, strip

    def frame_id(self, strip: Strip, place: int | None) -> str | None:
        """The frame at that place of the strip, if it is known already."""
        frames = (f.frame for f in self._rig.state.rolls[strip.roll_id].frames.values())
        there = (strip.strip_id, place)
        return next((frame.frame_id for frame in frames if (frame.strip_id, frame.place) == there), None)

    async def _meant(self) -> tuple[Strip, int]:
        """Strip and place of the target; a strip that nobody announced is announced now."""
        found = placing(self._rig.state)
        loaded = [event for event in found.events if isinstance(event, StripLoaded)]
        if loaded:
            await self._rig.hub.append(*loaded)
        return found.placed.strip, found.placed.frame.place

    async def _track_of(self, strip: Strip) -> Track:
        if self.track is None or self.track.strip_id != strip.strip_id:
            self.track = (await self._finding.past(strip)).track
        return self.track

    async def _locate(self, track: Track, strip: Strip, place: int) -> None:
        """Find out what lies in the gate; draw the strip in where nothing does."""
        sighted = await self._look.at_rest()
        if sighted is not None and sighted.open and place == 1:
            await draw_in(self._rig, self._board, self._look, self._travel, self._limits, track)
            return
        await self._finding.find(track, strip, place)
        if track.here == place:
            await self._travel.centre(track, place, self.frame_id(strip, place))

    async def _is_it(self, track: Track, strip: Strip, place: int) -> None:
        """It should lie in the gate already; a hand may have slid the film meanwhile."""
        known = dict(track.faces)
        if not await self._travel.centre(track, place, self.frame_id(strip, place)):
            self.track = None
            raise NotReady("The gate is empty.", "The film was taken out.", f"Lay frame {place} into it, then trigger.")
        face = track.faces.get(place)
        others = {other: look for other, look in known.items() if other != place}
        if face is None or not others:
            return
        found = max(others, key=lambda other: alike(face, others[other]))
        if alike(face, others[found]) >= ALIKE:
            track.mistaken(place, found)
