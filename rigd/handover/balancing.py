"""The second look at a roll's plans: what is neutral on it, and which frames are far from its middle."""

from __future__ import annotations

import math

import numpy as np
from msgspec.structs import replace

from rigd.handover.values import FramePlan, Three
from rigd.imaging.positive import balance_roll
from rigd.imaging.positive.balance import Balance, Tones
from rigd.model.words import Colour, Tone

_STOP = math.log10(2.0)


def balanced(
    plans: tuple[FramePlan, ...], tones: dict[str, list[Three]], within_stops: float | None
) -> tuple[FramePlan, ...]:
    """The plans with the balance of their roll. `tones` by frame id (19 densities over the base, R, G, B each); frames
    without are printed as the rest. Frames of unlike colour (mono and colour on one roll) are balanced apart.

    `within_stops`: how far the middle of a frame may lie from the roll's, in stops of the subject's light, before it is
    printed lighter or darker to come that near; None: never. A night shot on a roll of day shots stays dark by that
    much, and a frame exposed three stops wrong can be read."""
    found = {colour: _balance(plans, tones, colour) for colour in {plan.colour for plan in plans}}
    return tuple(_one(plan, found[plan.colour], tones.get(plan.frame_id), within_stops) for plan in plans)


def _balance(plans: tuple[FramePlan, ...], tones: dict[str, list[Three]], colour: Colour) -> Balance:
    mine = [tones[p.frame_id] for p in plans if p.colour is colour and p.tone is Tone.NEGATIVE and p.frame_id in tones]
    return balance_roll([np.asarray(one, np.float64) for one in mine], colour)


def _one(plan: FramePlan, found: Balance, tones: list[Three] | None, within: float | None) -> FramePlan:
    offset = 0.0
    if tones is not None and within is not None and plan.tone is Tone.NEGATIVE:
        offset = _offset(np.asarray(tones, np.float64), found, within)
    lighter = plan.print.lighter_stops + offset
    return replace(plan, gamma=found.gamma, middle=found.middle, print=replace(plan.print, lighter_stops=lighter))


def _offset(tones: Tones, found: Balance, within: float) -> float:
    """Stops that a frame is printed lighter (negative: darker), to a hundredth: keys must not change by a rounding."""
    green = tones[:, 1]
    off = ((green[0] + green[-1]) / 2 - found.middle[1]) / found.gamma[1] / _STOP
    return round(-math.copysign(max(0.0, abs(off) - within), off), 2)
