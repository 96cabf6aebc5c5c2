"""Shutter times from the camera's own list, in stops, within what is allowed."""

from __future__ import annotations

from collections.abc import Sequence
from math import log2

from msgspec import Struct

from rigd.errors import CameraLacks
from rigd.imaging.mains import mains_safe
from rigd.model.units import shutter_words
from rigd.ports import Choice

# Nominal times miss the true thirds by up to 0.0931 stop (1/60 s is taken for 1/64 s): two entries of a list that
# are nearer than this are the same step.
NOMINAL_SLACK_STOPS = 0.10
# Half a step of the list, and what nominal times are off: what is further away was kept from what was wanted.
_SHORT = 1 / 6 + NOMINAL_SLACK_STOPS


class Picked(Struct, frozen=True):
    """A shutter of the list; `short_stops`: how far the list or the limits kept it from what was wanted (signed);
    `bound`: which of them did, in words, "" where none did."""

    choice: Choice
    short_stops: float
    bound: str = ""


def pick(
    menu: Sequence[Choice],
    wanted_s: float,
    shortest_s: float,
    longest_s: float,
    never_longer: bool = False,
    ripples_hz: tuple[float, ...] = (),
) -> Picked:
    """The entry nearest to `wanted_s` in stops, within the limits.

    Args:
        menu: the camera's shutter times, any order, seconds.
        wanted_s: seconds, over 0.
        shortest_s, longest_s: the operator's limits, seconds.
        never_longer: take no entry that is longer than wanted (by more than the slack of nominal times): for a
            correction that ends at the ceiling.
        ripples_hz: the lamp ripples with these; only times in which that averages out are used.

    Raises:
        CameraLacks: no entry lies within the limits, or none is safe under such a lamp.
    """
    within = [c for c in menu if shortest_s * 0.93 <= c.value <= longest_s * 1.07]
    allowed = _safe(within, ripples_hz)
    if not allowed:
        raise _none_left(bool(within), shortest_s, longest_s)
    fitting = [c for c in allowed if log2(c.value / wanted_s) <= NOMINAL_SLACK_STOPS] if never_longer else allowed
    best = min(fitting or [min(allowed, key=lambda c: c.value)], key=lambda c: abs(log2(c.value / wanted_s)))
    short = log2(best.value / wanted_s)
    slack = _SHORT + (1 / 6 if never_longer else 0.0)
    return Picked(best, short, _bound(best, short, menu, within) if abs(short) > slack else "")


def _safe(within: list[Choice], ripples_hz: tuple[float, ...]) -> list[Choice]:
    if not ripples_hz:
        return within
    safe = set(mains_safe([c.value for c in within], ripples_hz))
    return [c for c in within if c.value in safe]


def _bound(best: Choice, short: float, menu: Sequence[Choice], within: list[Choice]) -> str:
    """What keeps the shutter at `best`: the lamp, the operator's limit, or the camera's list."""
    word, end = ("longer", max) if short < 0 else ("shorter", min)

    def further(choices: Sequence[Choice]) -> bool:
        return end(choices, key=lambda c: c.value).value != best.value

    if further(within):
        return f"No {word} time that is nearer is safe under a lamp on the mains."
    if further(menu):
        return f"{shutter_words(best.value)} is the {'slowest' if short < 0 else 'fastest'} time that is allowed."
    return f"The camera's list ends at {shutter_words(best.value)}."


def _none_left(some_within: bool, shortest_s: float, longest_s: float) -> CameraLacks:
    limits = f"The limits are {shutter_words(shortest_s)} to {shutter_words(longest_s)}."
    if some_within:
        return CameraLacks(
            "The camera offers no shutter time that is safe under a lamp on the mains.", limits,
            "Allow slower times, stop the lens down or dim the lamp; or set mains to off for a lamp without ripple.",
        )  # fmt: skip
    return CameraLacks(
        "The camera offers no shutter time within the limits.", limits, "Widen fastest and slowest of the roll."
    )
