"""Shutter times from the camera's own list, in stops."""

from __future__ import annotations

from collections.abc import Sequence
from math import log2

from msgspec import Struct

from rigd.errors import CameraLacks
from rigd.ports import Choice

# Nominal times miss the true thirds by up to 0.0931 stop (1/60 s is taken for 1/64 s): two entries of a list that
# are nearer than this are the same step.
NOMINAL_SLACK_STOPS = 0.10


class Picked(Struct, frozen=True):
    """A shutter of the list; `short_stops`: how far the list or the limits kept it from what was wanted (signed)."""

    choice: Choice
    short_stops: float


def pick(
    menu: Sequence[Choice], wanted_s: float, shortest_s: float, longest_s: float, never_longer: bool = False
) -> Picked:
    """The entry nearest to `wanted_s` in stops, within the limits.

    Args:
        menu: the camera's shutter times, any order, seconds.
        wanted_s: seconds, over 0.
        shortest_s, longest_s: the operator's limits, seconds.
        never_longer: take no entry that is longer than wanted (by more than the slack of nominal times): for a
            correction that ends at the ceiling.

    Raises:
        CameraLacks: no entry lies within the limits.
    """
    allowed = [c for c in menu if shortest_s * 0.93 <= c.value <= longest_s * 1.07]
    if not allowed:
        raise CameraLacks(
            "The camera offers no shutter time within the limits.",
            f"The limits are {shortest_s:g} s to {longest_s:g} s.",
            "Widen shortest_s and longest_s in the settings.",
        )
    fitting = [c for c in allowed if log2(c.value / wanted_s) <= NOMINAL_SLACK_STOPS] if never_longer else allowed
    best = min(fitting or [min(allowed, key=lambda c: c.value)], key=lambda c: abs(log2(c.value / wanted_s)))
    return Picked(best, log2(best.value / wanted_s))
