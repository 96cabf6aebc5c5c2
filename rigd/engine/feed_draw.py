"""Drawing a strip in: from under the film sensor until its first frame lies in the gate."""

from __future__ import annotations

from rigd.engine.feed_look import FeedLook, Sighted
from rigd.engine.feed_travel import Travel
from rigd.engine.feed_values import FeedLimits, Track
from rigd.engine.rig import Rig
from rigd.errors import NotReady
from rigd.model.events_feed import Moved, MoveIntended
from rigd.ports import Advancer

# The leading end must not cross the gate between two looks: a tenth of it is kept in hand.
_GATES = 1.8
# From the sensor to beyond the gate, in as many goes.
_GOES = 6


async def draw_in(rig: Rig, board: Advancer, look: FeedLook, travel: Travel, limits: FeedLimits, track: Track) -> None:
    """Bring the first frame of the strip that the sensor sees into the empty gate; `track.here` is 1 then.

    Raises:
        NotReady: nothing comes into the gate. BoardError: as the board says.
    """
    begin = await board.place()
    if not begin.film:
        raise _nothing("Neither the gate nor the film sensor sees any.")
    rig.phase("draw in")
    await rig.hub.append(MoveIntended(None, limits.sensor_mm, track.strip_id, 1, round(begin.mm, 3)))
    sighted = await _until_seen(board, look, limits)
    arrived = await travel.nudge(track, _rest_of_the_way(look, travel, track, sighted))
    if not arrived.there:
        raise _nothing("It has run through the gate.")
    rest = await board.place(arrived.rest.mm)
    travel.lies(track, 1, arrived, rest.mm)
    off = None if arrived.off_mm is None else round(arrived.off_mm, 3)
    moved = Moved(None, round(rest.mm - begin.mm, 3), arrived.rest.why, 1, off, arrived.tries, round(rest.mm, 3))
    await rig.hub.append(moved)


async def _until_seen(board: Advancer, look: FeedLook, limits: FeedLimits) -> Sighted:
    """Advance until something lies in the gate."""
    sighted = await look.at_rest()
    for _ in range(_GOES):
        if sighted is None or sighted.seen.bed is None:
            raise NotReady("Nobody can see the film come.", "", "Lay its first frame into the gate by hand.")
        if not sighted.open:
            return sighted
        half = sighted.seen.bed.half_mm
        await board.advance(min((limits.sensor_mm + half) / 2, _GATES * half))
        sighted = await look.at_rest()
    raise _nothing(f"It was advanced {_GOES} times, and the gate is still empty.")


def _rest_of_the_way(look: FeedLook, travel: Travel, track: Track, sighted: Sighted) -> float:
    """From the strip's leading end in sight to its first frame in the middle, mm of the board. Strips are cut in the
    middle of a gap."""
    end, way = sighted.seen.end, look.towards(sighted)
    if end is None or way is None:
        return 0.0
    film = track.film
    gap = (film.pitch_mm or film.along_mm) - film.along_mm
    return (film.along_mm / 2 + gap / 2 - way * end.at_mm) / abs(travel.gear or 1.0)


def _nothing(why: str) -> NotReady:
    return NotReady("No film comes into the gate.", why, "Feed the strip in until the sensor sees it, then trigger.")
