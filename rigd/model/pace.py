"""Time: the cadence of what was done, breaks left out, and what is left at that pace."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from rigd.model.plan import suggested
from rigd.model.tally import Tally
from rigd.model.values import Roll

# By hand an experienced operator takes about 15 s a frame, set-up and breaks not counted (common practice, no source):
# used until this job has a pace of its own.
BY_HAND_S = 15.0
# Fewer frames than on one strip say little about the pace.
ENOUGH = 4


class Done(Struct, frozen=True):
    """What was timed of one roll: seconds without breaks, the frames taken in them, and its format."""

    film_format: str
    worked_s: float
    paced: int


class Left(Struct, frozen=True):
    """What is left of rolls of one format: frames on those whose count is known, and of how many it is not."""

    film_format: str
    frames: int
    unknown: int = 0


class Estimate(Struct, frozen=True):
    """`frames` to go on rolls whose count is known, and on how many more rolls (`unknown`) it is not; `seconds` for the
    known ones, breaks and changes of rolls left out; `timed`: how many frames the pace was learned from, 0: common
    practice by hand."""

    frames: int
    unknown: int
    seconds: float
    cadence_s: float
    timed: int


def cadence(worked_s: float, paced: int) -> float | None:
    """Seconds a frame; None while too few were timed."""
    return worked_s / paced if paced >= ENOUGH else None


def estimate(done: Iterable[Done], left: Iterable[Left]) -> Estimate:
    """What is left at the pace of this job: a format's own where enough of it was timed, else that of all."""
    known, coming = list(done), list(left)
    overall = _of(known) or BY_HAND_S
    formats = {x.film_format for x in coming}
    own = {name: _of([d for d in known if d.film_format == name]) or overall for name in formats}
    frames = sum(x.frames for x in coming)
    seconds = sum(x.frames * own[x.film_format] for x in coming)
    timed = sum(d.paced for d in known)
    mean = seconds / frames if frames else overall
    return Estimate(frames, sum(x.unknown for x in coming), seconds, mean, timed if _of(known) else 0)


def to_go(roll: Roll, count: Tally) -> int | None:
    """Frames of a roll still to come: those that are missing, or as many as its format usually has; None where nobody
    can know."""
    if roll.expected is not None:
        return count.missing
    usual = suggested(roll.film_format).expected
    return max(0, usual[0] - count.counted) if usual else None


def _of(done: list[Done]) -> float | None:
    return cadence(sum(d.worked_s for d in done), sum(d.paced for d in done))


def time_words(seconds: float) -> str:
    """A length of time as people say it: `40 s`, `12 min`, `3 h 20 min`."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60:02d} min"
