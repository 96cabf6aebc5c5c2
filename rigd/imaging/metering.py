"""How far a take is from its aim, and what to add: one function, one definition."""

from __future__ import annotations

from msgspec import Struct

from rigd.imaging.levels import Histogram, Three
from rigd.imaging.limits import Limits
from rigd.model.values import Level
from rigd.model.words import Quality, Tone

# A pixel this near to saturation may be any amount over it: what is measured there is no level.
_FULL = -0.03
# Where nothing tells how far a wholly saturated picture is over: far enough down that the next take can be measured.
_LOST = -6.0
# A light end that is saturated lies over saturation by about so much, if little of the picture does.
_BEYOND = 0.5
# Little and much of a picture, as shares that are saturated.
_LITTLE, _MUCH = 0.05, 0.25
# The range of an ordinary picture in stops, for want of a measured one (common practice, no source).
USUAL = {Tone.NEGATIVE: 3.5, Tone.POSITIVE: 9.0}
_SHARES = (0.005, 0.995)


class Metered(Struct, frozen=True):
    """`level` as the ledger keeps it; `correction` in stops reaches the aim, or as near as the ceiling allows (light
    must be added where it is positive); `take` the word for the exposure; `bracket` how many stops more a second,
    longer exposure needs for the dark end (0.0 where one exposure does); `blind` True where the light end was
    saturated, so that the correction is an estimate; `lead` the channel that was metered."""

    level: Level
    correction: float
    take: Quality
    bracket: float = 0.0
    blind: bool = False
    lead: int = 0


def meter(
    found: Histogram,
    limits: Limits,
    aim: str = "centre",
    base: Three | None = None,
    brightest: float | None = None,
    usual: float = USUAL[Tone.NEGATIVE],
) -> Metered:
    """Measure a picture's histogram against its aim.

    `base`: L of the film's base in this take by channel, needed for the aim `base` (without it, `centre` is used).
    `brightest`: L that nothing in the picture can exceed in this take (base or lamp), where known: it bounds the
    estimate for a saturated picture, as does `usual`, the range that such pictures have.
    """
    dark, light, most = (_by_channel(found, share) for share in (*_SHARES, 1 - limits.over_pct / 100))
    over = max(found.share_over(c, limits.ceiling) for c in range(3))
    lead = max(range(3), key=lambda c: (light[c], found.share_over(c, _FULL)))
    centre = (dark[lead] + light[lead]) / 2
    aim = "base" if aim == "base" and base is not None else "centre"
    wanted = limits.base - max(base) if aim == "base" and base is not None else limits.centre - centre
    blind = max(most) > _FULL
    room = limits.ceiling - max(most)
    correction = _blind(found, lead, brightest, limits, usual) if blind else min(wanted, room)
    clipped = over > limits.over_pct / 100
    bracket = limits.noise - (dark[lead] + correction)
    take = _word(correction, clipped, bracket > 0 and wanted > room, limits)
    level = Level(dark, light, centre, 100 * over, -correction, aim)
    return Metered(level, correction, take, max(0.0, bracket) if take is Quality.EXCEEDS else 0.0, blind, lead)


def _by_channel(found: Histogram, share: float) -> Three:
    return found.point(0, share), found.point(1, share), found.point(2, share)


def _blind(found: Histogram, lead: int, brightest: float | None, limits: Limits, usual: float) -> float:
    """What to add to a saturated picture, estimated so that two corrections reach the aim: the first may go too far,
    but leaves a picture that can be measured.

    Where much is saturated, base or lamp tell how bright the light end can be at most; without them, a usual range
    over the dark end, or as far over the median as the dark end lies under it. Where little is, the light end lies a
    little over saturation, or an ordinary negative's range over the dark end."""
    dark, middle, over = found.point(lead, 0.005), found.point(lead, 0.5), found.share_over(lead, _FULL)
    if dark > _FULL:
        return min(limits.ceiling - brightest, limits.ceiling) if brightest is not None else _LOST
    light = max(dark + (usual if over > _LITTLE else USUAL[Tone.NEGATIVE]), _BEYOND)
    # Twice the aim's depth is the longest range that can be centred.
    long = over > _LITTLE and dark < 2 * limits.centre
    if long:
        light = max(light, 2 * middle - dark)
    if brightest is not None:
        light = max(0.0, brightest) if long or over > _MUCH else min(light, max(0.0, brightest))
    return max(_LOST, min(limits.centre - (dark + light) / 2, limits.ceiling - light))


def _word(correction: float, clipped: bool, drowns: bool, limits: Limits) -> Quality:
    if clipped:
        return Quality.CLIPPED
    if correction < -limits.high:
        return Quality.HIGH
    if correction > limits.low:
        return Quality.LOW
    return Quality.EXCEEDS if drowns else Quality.GOOD
