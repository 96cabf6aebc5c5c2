"""What moved during an exposure: the look before it against the looks just after."""

from __future__ import annotations

import asyncio

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_sight import Seen
from rigd.errors import NotStill, RawUnreadable
from rigd.model.values import Verdict
from rigd.model.words import Quality

# Live view comes back within a few tenths of a second after a still; the judging takes as long.
_PATIENCE_S = 1.0
# One look could catch a swing as it passes through the middle: two do not.
_LOOKS = 2
# Film that lies further than this from where it lay has been taken away: the frame in the gate may be another.
_AWAY_MM = 1.5
# What is written down where nothing in sight is where it was: the ledger's numbers are finite.
_FAR_UM = 1e6
# What is said of a take that moved is no news about its exposure: only these words give way to it.
_GIVE_WAY = (Quality.GOOD, Quality.EXCEEDS, Quality.SUSPECT)


class Moved(Struct, frozen=True):
    """By how much the film had moved after an exposure, um (infinite: nothing is where it was), what of that is
    allowed, and the last look at it."""

    um: float
    allowed_um: float
    seen: Seen

    @property
    def too_far(self) -> bool:
        return self.um > self.allowed_um


Movement = asyncio.Task[Moved | None]


async def look_again(eyes: Eyes, before: Seen, pace_s: float) -> Moved | None:
    """Look at the film after the exposure; None where it could not be looked at in time."""
    found: Moved | None = None
    try:
        async with asyncio.timeout(_PATIENCE_S), eyes.live.watch(pace_s):
            number = eyes.live.last[0]
            for _ in range(_LOOKS):
                seen = await eyes.after(number)
                number = seen.number
                found = _further(found, eyes, before, seen)
    except (TimeoutError, RawUnreadable):
        return found
    return found


def _further(found: Moved | None, eyes: Eyes, before: Seen, seen: Seen) -> Moved | None:
    told = eyes.sight().between(before, seen)
    if told is None:
        return found
    moved = Moved(told.um, told.allowed_um, seen)
    return moved if found is None or moved.um > found.um else replace(found, seen=seen)


def with_movement(verdict: Verdict, moved: Moved | None) -> Verdict:
    """The verdict with what moved: a take that moved is suspect, and `numbers` carry `moved_um` and `allowed_um`."""
    if moved is None:
        return verdict
    um = min(moved.um, _FAR_UM)
    numbers = {**verdict.numbers, "moved_um": round(um, 2), "allowed_um": round(moved.allowed_um, 2)}
    if not moved.too_far or verdict.take not in _GIVE_WAY:
        return replace(verdict, numbers=numbers)
    told = "was moved away" if um == _FAR_UM else f"moved by {um:.0f} um"
    why = f"The film {told} between the looks before and after the exposure."
    return replace(verdict, take=Quality.SUSPECT, why=why, numbers=numbers)


def require_here(eyes: Eyes, before: Seen | None, now: Seen | None) -> None:
    """Raises NotStill if the film lies elsewhere than before the first take of the frame in hand: a further take would
    show another frame under this one's number."""
    if before is None or now is None:
        return
    told = eyes.sight().between(before, now)
    if told is None or told.um < _AWAY_MM * 1000.0:
        return
    raise NotStill(
        "The film was moved before the frame was done.",
        "A further take would show something else under its number.",
        "Lay the frame back into the gate and trigger again, or skip it.",
    )
