"""The shutter held for a roll: chosen from its base, then watched, never silently changed. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from math import log2

from msgspec.structs import replace

from rigd.engine.policy import Limits, Ruling
from rigd.engine.shutters import pick
from rigd.imaging import Limits as Metering
from rigd.model.units import shutter_words
from rigd.model.values import Held, Take, Verdict
from rigd.model.words import Decision, Film, Quality
from rigd.ports import Choice

Three = tuple[float, float, float]

# What a base may drift before it is said: the list's step is a third, and stray measurements stay under a tenth.
_DRIFT_STOPS = 0.2
# Where the base is over saturation nobody knows by how much: down so far, and look again.
_DOWN_STOPS = -1.5
# Base is one to three stops lighter than an ordinary negative's lightest part: over this, it may be burnt out.
_MAY_BURN = -3.2
# What is wrong in these ways must be put right first.
_NOT_NOW = (Quality.STALE, Quality.MISPLACED)


def base_of(verdict: Verdict, name: str = "base_1s") -> Three | None:
    """The base seen beside the picture of a take, as L for 1 s; None where it was not seen. "base_1s" may be what was
    known before, "beside_1s" was measured in this take."""
    numbers = verdict.numbers
    if f"{name}_g" not in numbers:
        return None
    return numbers[f"{name}_r"], numbers[f"{name}_g"], numbers[f"{name}_b"]


def held_at(
    base_1s: Three, menu: Sequence[Choice], limits: Limits, metering: Metering, how: str, take_id: str
) -> Held:
    """The shutter that sets the base where it is to sit, in its brightest channel."""
    wanted = float(2.0 ** (metering.base - max(base_1s)))
    picked = pick(menu, wanted, limits.shortest_s, limits.longest_s, True, limits.ripples_hz)
    return Held(picked.choice.value, picked.choice.label, base_1s, how, take_id, picked.bound)


def levels(held: Held) -> Three:
    """Where the base sat when it was metered, at the held shutter, in stops under saturation."""
    red, green, blue = (value + log2(held.shutter_s) for value in held.base_1s)
    return red, green, blue


def three_words(three: Three) -> str:
    """`R -0.5, G -1.9, B -2.8`."""
    return ", ".join(f"{name} {value:+.1f}" for name, value in zip("RGB", three, strict=True))


def watched(verdict: Verdict, held: Held) -> Verdict:
    """The verdict with how far the base has drifted since it was metered, said where it is worth saying."""
    now = base_of(verdict, "beside_1s")
    if now is None:
        return verdict
    red, green, blue = (a - b for a, b in zip(now, held.base_1s, strict=True))
    numbers = {**verdict.numbers, "drift_r": red, "drift_g": green, "drift_b": blue}
    lead = held.base_1s.index(max(held.base_1s))
    if abs((red, green, blue)[lead]) <= _DRIFT_STOPS:
        return replace(verdict, numbers=numbers)
    told = f"The base has drifted since it was metered ({three_words((red, green, blue))} stops): look at the lamp."
    return replace(verdict, numbers=numbers, why=f"{verdict.why} {told}")


def first_hold(
    take: Take, verdict: Verdict, menu: Sequence[Choice], limits: Limits, metering: Metering
) -> Held | None:
    """The shutter to hold, from the base beside the first frame; None where none was seen."""
    base_1s = base_of(verdict, "beside_1s") or base_of(verdict)
    if base_1s is None or verdict.film not in (Film.PICTURE, Film.UNEXPOSED):
        return None
    return held_at(base_1s, menu, limits, metering, "rebate", take.take_id)


def held_ruling(take: Take, verdict: Verdict, held: Held) -> Ruling | None:
    """The first frame once more, with the shutter that is now held; None where it was taken with it."""
    if abs(log2(held.shutter_s / take.want.shutter_s)) < 0.1:
        return None
    sits = three_words(levels(held))
    why = f"The base was metered beside this frame: the shutter is held at {shutter_words(held.shutter_s)} ({sits})."
    return Ruling(Decision.RETAKE, f"{why} Again with it.", Choice(held.shutter, held.shutter_s))


def unmetered(
    take: Take, verdict: Verdict, takes: int, menu: Sequence[Choice], limits: Limits
) -> Ruling | None:
    """Another look for the base where it burnt out, or where it was not seen and may have: it is lighter than any
    picture. None where neither is so, or takes are used up."""
    light = max(verdict.level.light) if verdict.level else 0.0
    if takes >= limits.max_takes or verdict.film is Film.NO_FILM or verdict.take in _NOT_NOW:
        return None
    if not verdict.numbers.get("base_full") and light < _MAY_BURN:
        return None
    stops = min(_DOWN_STOPS, verdict.numbers.get("correction", 0.0))
    wanted = take.want.shutter_s * 2.0**stops
    choice = pick(menu, wanted, limits.shortest_s, limits.longest_s, True, limits.ripples_hz).choice
    if choice.value >= take.want.shutter_s * 0.95:
        return None
    seen = "is over saturation" if verdict.numbers.get("base_full") else "was not seen, perhaps burnt out"
    why = f"The base beside the picture {seen}. Again, now {shutter_words(choice.value)}, to meter it."
    return Ruling(Decision.RETAKE, why, choice)


def by_itself(ruling: Ruling) -> Ruling:
    """The ruling on a frame whose base was not seen: if it is kept, that is said, for it differs from its roll."""
    if ruling.decision is not Decision.KEEP:
        return ruling
    told = "No base was seen beside it: exposed by itself, and no shutter is held yet."
    return replace(ruling, why=f"{ruling.why} {told}")
