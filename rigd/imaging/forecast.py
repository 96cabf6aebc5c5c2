"""The first shutter of a frame, foretold: from its live picture where that tells the light, else from frames before.

Three sources, each judged by how well it would have foretold the frames so far. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from math import log2
from statistics import median

from msgspec import Struct

from rigd.imaging.limits import Limits

# So many lessons back: lamps drift, and stocks change from roll to roll.
_LESSONS = 8
# A source is believed to miss by so many stops until it has shown better or worse, counted as two lessons: live view is
# the light itself, the base beside the picture is small and soft, and frames differ from the frame before.
_BEFORE = 2


class Source(StrEnum):
    """Where a first shutter comes from; in the order of the number in a take's `numbers`."""

    SETTING = "the setting"
    PAST = "the frames before"
    BASE = "the base beside the picture"
    LIVE = "live view"


# A light end this far down lies in the last codes of eight bits.
_DROWNED = -9.0
# A picture that the ceiling holds down may be too low by two thirds and too high by nothing: a little stays clear.
_CLEAR_STOPS = 0.12
_MISSES = {Source.LIVE: 0.2, Source.BASE: 0.35, Source.PAST: 0.5}


class Reading(Struct, frozen=True):
    """One live picture of a frame, taken with `seconds` set: stops under the live picture's white, its tone curve taken
    out as far as it is known: 0.5, 99.5 and 99.9 % points. `base`: of the film beside the picture; None where that was
    not seen, or is black. `over`: the light end is at the end of the scale."""

    seconds: float
    dark: float
    light: float
    top: float
    base: float | None = None
    over: bool = False


class Lesson(Struct, frozen=True):
    """What a frame needed in the end, seconds, and how its live picture had looked before."""

    needed_s: float
    reading: Reading | None = None


class Forecast(Struct, frozen=True):
    """`seconds` None where nothing is known and the setting must do. `miss`: by how many stops the source has been off
    lately (its usual miss where it has no history)."""

    seconds: float | None
    source: Source
    miss: float = 0.0


def forecast(
    lessons: Sequence[Lesson], reading: Reading | None, follows: bool, last_s: float | None, limits: Limits
) -> Forecast:
    """The first shutter of a frame.

    Args:
        lessons: of the frames before, oldest first.
        reading: this frame's live picture, if there is one.
        follows: this body's live view gets lighter and darker with the shutter.
        last_s: the corrected shutter of the frame before.
        limits: where the aims and the ceiling are.
    """
    known = list(lessons)[-_LESSONS:]
    found = [Forecast(last_s, Source.PAST, _miss(known, Source.PAST, limits))] if last_s else []
    sources = ([Source.LIVE] if follows else []) + [Source.BASE]
    for source in sources if reading is not None else []:
        seconds = _foretold(known, reading, source, limits)
        found += [Forecast(seconds, source, _miss(known, source, limits))] if seconds else []
    best = min(found, key=lambda one: one.miss) if found else Forecast(None, Source.SETTING)
    held_down = reading is not None and wanted(reading, limits) < _to_centre(reading, limits)
    if best.seconds is None or not held_down:
        return best
    return Forecast(best.seconds * 2.0**-_CLEAR_STOPS, best.source, best.miss)


def wanted(reading: Reading, limits: Limits) -> float:
    """Stops to be added to the live picture itself to bring it to the aim `centre`, or to the ceiling before."""
    return min(_to_centre(reading, limits), limits.ceiling - reading.top)


def _to_centre(reading: Reading, limits: Limits) -> float:
    return limits.centre - (reading.dark + reading.light) / 2


def slope(one: Reading, other: Reading) -> float | None:
    """How many stops two live pictures of the same film differ for one stop of shutter: near 1 where live view follows
    the exposure, near 0 where an automatic gain hides it. None where an end of the scale hides it too. Measured at the
    light end: the dark one drowns first."""
    apart = log2(other.seconds / one.seconds)
    if abs(apart) < 0.5 or one.over or other.over or min(one.light, other.light) < _DROWNED:
        return None
    return (other.light - one.light) / apart


def _foretold(lessons: Sequence[Lesson], reading: Reading | None, source: Source, limits: Limits) -> float | None:
    if source is Source.PAST:
        return lessons[-1].needed_s if lessons else None
    raw = _by_itself(reading, source, limits)
    if raw is None:
        return None
    taught = [one for one in lessons if one.reading is not None and not one.reading.over]
    told = [log2(one.needed_s) - own for one in taught if (own := _by_itself(one.reading, source, limits)) is not None]
    if not told and source is Source.BASE:
        return None
    # A live picture's white is where the raw saturates, or a little under it: the first guess never burns out.
    return float(2.0 ** (raw + (median(told[-3:]) if told else 0.0)))


def _by_itself(reading: Reading | None, source: Source, limits: Limits) -> float | None:
    """log2 of the seconds that a reading asks for, but for a constant that only takes can teach."""
    if reading is None:
        return None
    if source is Source.LIVE:
        return log2(reading.seconds) + wanted(reading, limits)
    if reading.base is None or reading.over:
        return None
    return wanted(reading, limits) + reading.base


def _miss(lessons: Sequence[Lesson], source: Source, limits: Limits) -> float:
    """Mean miss of the last lessons, each foretold from those before it, in stops."""
    missed = [_MISSES[source]] * _BEFORE
    for number in range(1, len(lessons)):
        seconds = _foretold(lessons[:number], lessons[number].reading, source, limits)
        if seconds is not None:
            missed.append(abs(log2(seconds / lessons[number].needed_s)))
    return sum(missed) / len(missed)
