"""The wait until the film is still: measured in live pictures, or a fixed delay where there are none."""

from __future__ import annotations

import asyncio

from rigd.engine.rig import Rig
from rigd.engine.steps import Placed, Still
from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_sight import Seen
from rigd.errors import NotStill, RawUnreadable
from rigd.model.events import Settled

# A camera gives ten and more live pictures a second: one that gives none for so long will not before the exposure.
_NO_PICTURE_S = 2.0


async def settle(rig: Rig, placed: Placed | None, eyes: Eyes | None = None, rested: Seen | None = None) -> Still:
    """Wait until the film has lain still for as long as the set-up asks, then commit that the wait is over.

    Args:
        eyes: what looks at the film; None: nobody can, the fixed delay it is.
        rested: a look from before the trigger that found the film at rest: that time counts.

    Raises:
        NotStill: it goes on moving.
    """
    rig.phase("settle")
    began = rig.clock.monotonic()
    seen = await _measured(rig, eyes, began, rested) if eyes and placed and eyes.can_see else None
    waited = rig.clock.monotonic() - began
    if seen is None or seen.rest is None:
        if seen is None and rig.settle_s == 0.0:
            return Still(placed, 0.0)  # nobody looks and nobody waits: there is no wait to tell of
        await rig.clock.sleep(max(0.0, rig.settle_s - waited))
        waited = rig.clock.monotonic() - began
        await rig.hub.append(Settled(_frame_id(placed), waited))
        return Still(placed, waited, seen)
    rest_s = rig.clock.monotonic() - seen.rest.since
    await rig.hub.append(Settled(_frame_id(placed), waited, "measured", round(seen.rest.moved_um, 2), round(rest_s, 3)))
    return Still(placed, waited, seen)


async def _measured(rig: Rig, eyes: Eyes, began: float, rested: Seen | None) -> Seen | None:
    """The look that found the film at rest for long enough; None where nothing can be seen to rest."""
    seen = rested
    async with eyes.live.watch(rig.stilling.pace_s):
        number = seen.number if seen else eyes.live.last[0]
        while not _still(rig, seen):
            if rig.clock.monotonic() - began > rig.stilling.deadline_s:
                raise _not_still(rig, seen)
            seen = await _next_look(eyes, number)
            if seen is None or seen.dark or seen.open:
                return seen
            number = seen.number
    return seen


def _still(rig: Rig, seen: Seen | None) -> bool:
    if seen is None or seen.rest is None or seen.frozen:
        return False
    return rig.clock.monotonic() - seen.rest.since >= rig.still_for_s


async def _next_look(eyes: Eyes, number: int) -> Seen | None:
    try:
        async with asyncio.timeout(_NO_PICTURE_S):
            return await eyes.after(number)
    except (TimeoutError, RawUnreadable):
        return None


def _not_still(rig: Rig, seen: Seen | None) -> NotStill:
    moved = f", {seen.swing_um:.0f} um" if seen is not None else ""
    limit = f"Under {seen.limit_um:.0f} um an exposure would be sharp." if seen is not None else ""
    return NotStill(
        f"Still moving after {rig.stilling.deadline_s:.0f} s{moved}: check the table.",
        limit,
        "Look for what shakes the rig, or whether the film slips in the holder; then trigger again.",
    )


def _frame_id(placed: Placed | None) -> str | None:
    return placed.frame.frame_id if placed else None
