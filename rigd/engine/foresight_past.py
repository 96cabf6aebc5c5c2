"""What the frames so far teach about the next one, from the numbers of their verdicts. Pure; survives a restart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import log2

from rigd.imaging.forecast import Lesson, Reading, Source
from rigd.model.state import FrameState, RollState, State
from rigd.model.units import shutter_words
from rigd.model.values import Take
from rigd.model.words import Film, Purpose, Quality

# So many frames back: more would only say the same.
_BACK = 12
# What was burnt out tells only that it was.
_MEASURED = (Quality.GOOD, Quality.LOW, Quality.HIGH, Quality.EXCEEDS, Quality.SOFT)


def lessons_of(state: State) -> list[Lesson]:
    """Of the roll in hand, oldest first; while it has none, of the last roll of the same kind."""
    roll = state.roll
    if roll is None:
        return []
    own = _lessons(roll)
    if own:
        return own
    kind = (roll.roll.tone, roll.roll.colour)
    others = [(r.last_at, r) for r in state.rolls.values() if (r.roll.tone, r.roll.colour) == kind and r.last_at]
    for _, other in sorted(others, key=lambda pair: pair[0], reverse=True):
        if found := _lessons(other):
            return found
    return []


def last_word(state: State) -> float | None:
    """How this body's live view followed its shutter when that was found out last; None where it never was."""
    if state.roll is None:
        return None
    for take in _newest(state.roll):
        numbers = take.verdict.numbers if take.verdict else {}
        if "live_slope" in numbers:
            return numbers["live_slope"]
    return None


def outlook(state: State) -> str:
    """Where first shutters come from on the roll in hand, how well that did lately, and how many frames needed one
    take."""
    roll = state.roll
    frames = [f for f in roll.frames.values() if f.film is Film.PICTURE and f.keeper] if roll else []
    if roll is None or not frames:
        return "No frame of this roll has been taken yet."
    share = f"{sum(len(f.takes) == 1 for f in frames)} of {len(frames)} frames needed one take."
    if roll.held is not None:
        return f"Held for the roll at {shutter_words(roll.held.shutter_s)}. {share}"
    first = [n for f in frames[-_BACK:] if "foretold_by" in (n := _first_numbers(roll, f))]
    missed = [abs(m) for f in frames[-_BACK:] if (m := _missed(roll, f)) is not None]
    off = f", lately off by {sum(missed) / len(missed):.1f} stops" if missed else ""
    return f"From {list(Source)[int(first[-1]['foretold_by'])]}{off}. {share}" if first else share


def _first_numbers(roll: RollState, frame: FrameState) -> Mapping[str, float]:
    take = roll.takes.get(frame.takes[0])
    return take.verdict.numbers if take and take.verdict else {}


def _missed(roll: RollState, frame: FrameState) -> float | None:
    """By how many stops the first shutter of a frame was foretold too long; None where it was not foretold."""
    lesson, foretold = _lesson(roll, frame), _first_numbers(roll, frame).get("foretold_s")
    return log2(foretold / lesson.needed_s) if lesson is not None and foretold else None


def _newest(roll: RollState) -> list[Take]:
    return sorted(roll.takes.values(), key=lambda t: t.take_id, reverse=True)


def _lessons(roll: RollState) -> list[Lesson]:
    frames = [f for f in roll.frames.values() if f.film is Film.PICTURE and f.takes]
    newest = sorted(frames, key=lambda f: f.takes[-1])[-_BACK:]
    return [one for f in newest if (one := _lesson(roll, f)) is not None]


def _lesson(roll: RollState, frame: FrameState) -> Lesson | None:
    told = list(_told(roll, frame))
    if not told:
        return None
    last, numbers = told[-1]
    needed = last.want.shutter_s * 2.0 ** numbers["correction"]
    judged = [t.verdict.numbers for i in frame.takes if (t := roll.takes.get(i)) and t.verdict]
    seen = [numbers for numbers in judged if "live_s" in numbers]
    return Lesson(needed, _reading(seen[-1]) if seen else None)


def _told(roll: RollState, frame: FrameState) -> Iterator[tuple[Take, Mapping[str, float]]]:
    """The takes of a frame that measured its light, with their numbers."""
    for take_id in frame.takes:
        take = roll.takes.get(take_id)
        verdict = take.verdict if take else None
        if take is None or verdict is None or take.purpose is not Purpose.WHOLE or verdict.take not in _MEASURED:
            continue
        if verdict.film is Film.PICTURE and "correction" in verdict.numbers:
            yield take, verdict.numbers


def _reading(numbers: Mapping[str, float]) -> Reading:
    base = numbers.get("live_base")
    over = bool(numbers.get("live_over", 0.0))
    return Reading(numbers["live_s"], numbers["live_dark"], numbers["live_light"], numbers["live_top"], base, over)
