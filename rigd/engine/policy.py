"""What follows a judged take. Pure: (judgement, limits, history) -> keep, retake with this shutter, ask."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.shutters import NOMINAL_SLACK_STOPS, pick
from rigd.model.units import shutter_words
from rigd.model.values import Exposure, Take, Verdict
from rigd.model.words import Decision, Film, Quality
from rigd.ports import Choice

_EXPOSURE_FAULTS = (Quality.LOW, Quality.HIGH, Quality.CLIPPED)
# A corrected frame ends this near to its aim, in stops (one step of the shutter list).
_NEAR = 1 / 3
_REPEATABLE = (Quality.SOFT, Quality.STALE)


class Limits(Struct, frozen=True):
    """The operator's limits: takes of one frame, seconds."""

    max_takes: int = 3
    shortest_s: float = 1 / 8000
    longest_s: float = 8.0


class Ruling(Struct, frozen=True):
    """`shutter` is set for a retake; `carry_s` is the first shutter of the next frame, where this take taught one;
    `keeper` the take that counts, where the frame is settled by it."""

    decision: Decision
    why: str
    shutter: Choice | None = None
    carry_s: float | None = None
    keeper: str | None = None


def rule(
    take: Take,
    verdict: Verdict,
    correction_stops: float,
    earlier: Sequence[Take],
    menu: Sequence[Choice],
    limits: Limits,
) -> Ruling:
    """Decide on one take.

    Args:
        take: the take just judged, with the exposure that was in force.
        verdict: what judging found.
        correction_stops: what to add to the exposure to reach the aim (0: nothing to correct).
        earlier: the judged takes of the same frame in this cycle, oldest first, without `take`.
        menu: the camera's shutter list.
        limits: the operator's limits.
    """
    if verdict.film is Film.NO_FILM:
        return Ruling(Decision.ASK, f"{verdict.why} Lay the film into the gate and trigger again.")
    if verdict.take is Quality.MISPLACED:
        return Ruling(Decision.ASK, f"{verdict.why} Move the film and trigger again.")
    if verdict.take in _EXPOSURE_FAULTS and not _harmless(verdict):
        return _correct(take, verdict, correction_stops, earlier, menu, limits)
    if verdict.take in _REPEATABLE or verdict.film is None or has_moved(verdict):
        return _repeat(take, verdict, earlier, limits)
    fine = _finer(take, verdict, earlier, menu, limits)
    return fine or Ruling(Decision.KEEP, verdict.why, carry_s=_carried(take, verdict), keeper=take.take_id)


def _finer(
    take: Take, verdict: Verdict, earlier: Sequence[Take], menu: Sequence[Choice], limits: Limits
) -> Ruling | None:
    """A frame that had to be corrected ends within a third of a stop of its aim: a correction out of clipping is a
    guess, and can still be too low by what a first take may be. None where it is near enough or takes are used up."""
    corrected = any(t.verdict is not None and t.verdict.take in _EXPOSURE_FAULTS for t in earlier)
    left = verdict.numbers.get("correction", 0.0)
    if not corrected or verdict.film is not Film.PICTURE or left <= _NEAR or len(earlier) + 1 >= limits.max_takes:
        return None
    low = replace(verdict, why=f"Still {left:.1f} stops too little light.")
    ruling = _correct(take, low, left, earlier, menu, limits)
    return ruling if ruling.decision is Decision.RETAKE else None


# A suspect take whose film could be told is kept and flagged, unless it moved: a second look at the same film would see
# the same.


def has_moved(verdict: Verdict) -> bool:
    """True if a take is in doubt because live view saw something move meanwhile: another one may be better."""
    numbers = verdict.numbers
    return verdict.take is Quality.SUSPECT and numbers.get("moved_um", 0.0) > numbers.get("allowed_um", 0.0)


def _harmless(verdict: Verdict) -> bool:
    """A blank that is not clipped needs no second exposure: there is no picture to expose for."""
    return verdict.film is Film.UNEXPOSED and verdict.take is not Quality.CLIPPED


def _carried(take: Take, verdict: Verdict) -> float | None:
    return take.want.shutter_s if verdict.film is Film.PICTURE else None


def _correct(
    take: Take,
    verdict: Verdict,
    stops: float,
    earlier: Sequence[Take],
    menu: Sequence[Choice],
    limits: Limits,
) -> Ruling:
    wanted = take.want.shutter_s * 2.0**stops
    picked = pick(menu, wanted, limits.shortest_s, limits.longest_s, never_longer=verdict.take is not Quality.HIGH)
    same = abs(picked.choice.value / take.want.shutter_s - 1.0) < 0.01
    if same:
        return _settle_for_best(take, verdict, earlier, f"{verdict.why} The shutter list or its limits end here.")
    if len(earlier) + 1 >= limits.max_takes:
        return _settle_for_best(take, verdict, earlier, f"{verdict.why} {limits.max_takes} takes were made.")
    limited = abs(picked.short_stops) > 1 / 3 + NOMINAL_SLACK_STOPS
    note = " The shutter list or its limits end there." if limited else ""
    why = f"{verdict.why} Again at {shutter_words(picked.choice.value)} ({stops:+.1f} stops).{note}"
    return Ruling(Decision.RETAKE, why, shutter=picked.choice, carry_s=picked.choice.value)


def _repeat(take: Take, verdict: Verdict, earlier: Sequence[Take], limits: Limits) -> Ruling:
    if len(earlier) + 1 >= limits.max_takes:
        return _settle_for_best(take, verdict, earlier, f"{verdict.why} {limits.max_takes} takes were made.")
    if verdict.take is Quality.SOFT and any(t.verdict is not None and t.verdict.take is Quality.SOFT for t in earlier):
        # A kick does not come twice: what stays soft is the picture or the film. It is kept, and counts as suspect.
        return Ruling(Decision.KEEP, f"{verdict.why} The same twice: kept.", keeper=take.take_id)
    same = Choice(take.want.shutter, take.want.shutter_s)
    return Ruling(Decision.RETAKE, f"{verdict.why} Again, unchanged.", shutter=same)


def _settle_for_best(take: Take, verdict: Verdict, earlier: Sequence[Take], why: str) -> Ruling:
    """No take is as it should be: the best of them counts, every one is kept, and the operator is called."""
    judged = [(t.take_id, t.verdict) for t in earlier if t.verdict is not None] + [(take.take_id, verdict)]
    keeper, _ = min(judged, key=lambda pair: _badness(pair[1]))
    return Ruling(Decision.ASK, why, keeper=keeper, carry_s=None)


def _badness(verdict: Verdict) -> tuple[int, float]:
    order = {Quality.GOOD: 0, Quality.EXCEEDS: 1, Quality.LOW: 2, Quality.HIGH: 3, Quality.CLIPPED: 5}
    off = abs(verdict.level.off_stops) if verdict.level else 9.0
    return order.get(verdict.take, 4), off


def first_exposure(
    known_s: float | None,
    first_s: float,
    menu: Sequence[Choice],
    limits: Limits,
    f_number: float | None,
    iso: int | None,
) -> Exposure:
    """The exposure to begin a frame with: the last corrected time, or the setting while nothing is known."""
    choice = pick(menu, known_s or first_s, limits.shortest_s, limits.longest_s).choice
    return Exposure(choice.value, choice.label, f_number, iso)
