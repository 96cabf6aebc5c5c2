"""Looks at film that a motor has just moved: where the frame lies, what it looks like, how far the film really went."""

from __future__ import annotations

import asyncio
from math import copysign

from msgspec import Struct

from rigd.engine.rig import Rig
from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_sight import Seen
from rigd.errors import RawUnreadable
from rigd.imaging.live import Likeness, shift_between
from rigd.imaging.live.offset import Offset, neighbour_in, offset_in
from rigd.model.formats import film_format

# A camera gives ten and more live pictures a second; after a still it takes some tenths to come back.
_PATIENCE_S = 3.0
# From picture to picture: film that moves by less rests, or swings by what does not matter here.
_RESTS_MM = 0.05
_LOOKS = 12
# The gear is learned over so much: a sixth of the narrowest gate, and an error of 0.1 live px is 0.1 % of it.
LEARN_MM = 8.0
# Less agreement, more error (px), or a movement this far from the motor's: another thing was measured.
_AGREE, _ERROR_PX, _FAR = 0.6, 0.2, 0.25


class Sighted(Struct, frozen=True):
    """A look at film at rest. `offset`: where the frame lies, None where nothing tells; `open`: there is no film."""

    seen: Seen
    offset: Offset | None
    open: bool


class FeedLook:
    """Looks for the feed; live view must be watched by whoever asks, else no picture comes."""

    def __init__(self, rig: Rig, eyes: Eyes) -> None:
        self._rig = rig
        self.eyes = eyes

    async def at_rest(self, expected_mm: float = 0.0, pitch_mm: float | None = None) -> Sighted | None:
        """The first look at the film at rest that was begun after now; None where nobody can look.

        Args:
            expected_mm: where the middle of the frame should be, right of the gate's middle.
            pitch_mm: from frame to frame in the picture, where it is known.
        """
        if not self.eyes.can_see:
            return None
        try:
            async with asyncio.timeout(_PATIENCE_S):
                seen = await self._rests()
        except (TimeoutError, RawUnreadable):
            return None
        if seen.dark or seen.bed is None:
            return None
        if seen.open:
            return Sighted(seen, None, True)
        sight = self.eyes.sight()
        film, tone = sight.asked.film, sight.asked.tone
        found = await asyncio.to_thread(
            offset_in, seen.look, seen.bed, film, tone, sight.length_mm, pitch_mm, expected_mm
        )
        return Sighted(seen, found, False)

    async def _rests(self) -> Seen:
        # The picture that is on its way was begun before.
        number = self.eyes.live.last[0] + 1
        for _ in range(_LOOKS):
            seen = await self.eyes.after(number)
            if seen.open or seen.dark or (seen.moved_mm is not None and abs(seen.moved_mm) < _RESTS_MM):
                return seen
            number = seen.number
        return seen

    def face(self, sighted: Sighted) -> Likeness:
        """What the frame in the gate looks like; empty where it shows nothing."""
        middle = sighted.offset.mm if sighted.offset is not None and sighted.offset.edges else 0.0
        half = self._length_mm() / 2
        return self.eyes.sight().likeness(sighted.seen, middle - half, middle + half)

    def beside(self, sighted: Sighted, side: int) -> float | None:
        """Where the frame to the right (1) or left (-1) of the one in the gate has its middle, mm right of the gate's;
        None where its near edge is not in sight."""
        if sighted.seen.bed is None or sighted.offset is None or not sighted.offset.edges:
            return None
        asked, seen = self.eyes.sight().asked, sighted.seen
        length, at = self._length_mm(), sighted.offset.mm
        return neighbour_in(seen.look, sighted.seen.bed, asked.film, asked.tone, length, side, at)

    def gear(self, before: Sighted, after: Sighted, mm: float) -> float | None:
        """How far the film went in the picture for each of `mm` that the motor moved it; None where nothing tells."""
        bed = after.seen.bed
        if bed is None or after.open or before.open or mm == 0:
            return None
        area = bed.picture(self.eyes.sight().asked.film)
        shift = shift_between(before.seen.look, after.seen.look, area, None)
        gear = shift.x / bed.px_per_mm / mm
        if shift.agree < _AGREE or shift.error > _ERROR_PX or abs(abs(gear) - 1.0) > _FAR:
            return None
        return gear

    def towards(self, sighted: Sighted) -> float | None:
        """Which way forwards is in the picture, told by the leading end of a strip: 1.0 right, -1.0 left."""
        end = sighted.seen.end
        return None if end is None else copysign(1.0, -1.0 if end.film_right else 1.0)

    def _length_mm(self) -> float:
        roll = self._rig.state.roll
        assert roll is not None, "nobody feeds without a roll"
        return self.eyes.sight().length_mm or film_format(roll.roll.film_format).along_mm
