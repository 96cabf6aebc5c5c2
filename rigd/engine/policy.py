"""What follows a judged take. Pure: (judgement, limits, history) -> keep, retake with this shutter, ask."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.shutters import Picked, pick
from rigd.model.units import shutter_words
from rigd.model.values import Exposure, Take, Verdict
from rigd.model.words import Decision, Film, Purpose, Quality, Second
from rigd.ports import Choice

_EXPOSURE_FAULTS = (Quality.LOW, Quality.HIGH, Quality.CLIPPED)
# A corrected frame ends this near to its aim, in stops (one step of the shutter list).
_NEAR = 1 / 3
_REPEATABLE = (Quality.SOFT, Quality.STALE)
# Whole seconds, written and compared twice.
_SAME_CLOCK_S = 3.0
# A first take may be two thirds too low and one third too high: the middle between the two is a sixth low.
_MIDDLE_STOPS = -1 / 6


class Limits(Struct, frozen=True):
    """The operator's limits: takes of one frame, seconds. `ripples_hz`: the lamp ripples so, and only times in which
    that averages out are used. `second`: what to do where a picture's range exceeds one exposure. `held`: the shutter
    is held for the roll, and no exposure fault changes it."""

    max_takes: int = 3
    shortest_s: float = 1 / 8000
    longest_s: float = 8.0
    ripples_hz: tuple[float, ...] = ()
    second: Second = Second.OFFER
    held: bool = False


class Ruling(Struct, frozen=True):
    """`shutter` and `purpose` are set for a retake; `carry_s` is the first shutter of the next frame, where this take
    taught one; `keeper` the set of takes that counts, where the frame is settled by it."""

    decision: Decision
    why: str
    shutter: Choice | None = None
    carry_s: float | None = None
    keeper: tuple[str, ...] = ()
    purpose: Purpose = Purpose.WHOLE


class History(Struct, frozen=True):
    """What came before a take. `earlier`: the judged takes of the same frame and purpose in this cycle, oldest first;
    `kept`: the takes of other purposes that count for the frame already."""

    earlier: Sequence[Take] = ()
    kept: tuple[str, ...] = ()


def rule(
    take: Take,
    verdict: Verdict,
    correction_stops: float,
    history: History,
    menu: Sequence[Choice],
    limits: Limits,
) -> Ruling:
    """Decide on one take.

    Args:
        take: the take just judged, with the exposure that was in force.
        verdict: what judging found.
        correction_stops: what to add to the exposure to reach the aim (0: nothing to correct).
        history: what was taken of the frame before.
        menu: the camera's shutter list.
        limits: the operator's limits.
    """
    earlier = history.earlier
    if take.purpose is Purpose.BRACKET:
        return _second_taken(take, verdict, history, limits)
    if verdict.film is Film.NO_FILM:
        return Ruling(Decision.ASK, f"{verdict.why} Lay the film into the gate and trigger again.")
    if verdict.take is Quality.MISPLACED:
        return Ruling(Decision.ASK, f"{verdict.why} Move the film and trigger again.")
    if verdict.take in _EXPOSURE_FAULTS and not _harmless(verdict):
        return _held(take, verdict) if limits.held else _correct(take, verdict, correction_stops, earlier, menu, limits)
    if verdict.take in _REPEATABLE or verdict.film is None or has_moved(verdict):
        return _repeat(take, verdict, earlier, limits)
    if verdict.take is Quality.EXCEEDS:
        return _second_wanted(take, verdict, menu, limits)
    fine = None if limits.held else _finer(take, verdict, earlier, menu, limits)
    return fine or Ruling(Decision.KEEP, verdict.why, carry_s=_carried(take, verdict, limits), keeper=(take.take_id,))


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


def _carried(take: Take, verdict: Verdict, limits: Limits) -> float | None:
    """The time that would have met the aim exactly; the next first shutter is the list's nearest to it."""
    if verdict.film is not Film.PICTURE or limits.held:
        return None
    return float(take.want.shutter_s * 2.0 ** verdict.numbers.get("correction", 0.0))


def _picked(take: Take, stops: float, menu: Sequence[Choice], limits: Limits, never_longer: bool = True) -> Picked:
    wanted = take.want.shutter_s * 2.0**stops
    return pick(menu, wanted, limits.shortest_s, limits.longest_s, never_longer, limits.ripples_hz)


def _same(take: Take, picked: Picked) -> bool:
    return abs(picked.choice.value / take.want.shutter_s - 1.0) < 0.01


def _correct(
    take: Take,
    verdict: Verdict,
    stops: float,
    earlier: Sequence[Take],
    menu: Sequence[Choice],
    limits: Limits,
) -> Ruling:
    picked = _picked(take, stops, menu, limits)
    if _same(take, picked):
        return _at_the_end(take, verdict, earlier, picked, stops, menu, limits)
    if len(earlier) + 1 >= limits.max_takes:
        return _settle_for_best(take, verdict, earlier, f"{verdict.why} {limits.max_takes} takes were made.")
    note = f" {picked.bound}" if picked.bound else ""
    why = f"{verdict.why} Again, now {shutter_words(picked.choice.value)} ({stops:+.1f} stops).{note}"
    return Ruling(Decision.RETAKE, why, shutter=picked.choice, carry_s=picked.choice.value)


def _at_the_end(
    take: Take, verdict: Verdict, earlier: Sequence[Take], picked: Picked, stops: float, menu: Sequence[Choice],
    limits: Limits,
) -> Ruling:  # fmt: skip
    """No other shutter is nearer to the aim. Where one lies on its other side, the steps allowed are too coarse, and
    the take is as good as it gets; at the end of them somebody must look at lamp and aperture."""
    bound = picked.bound or "The shutter list has no nearer time."
    beyond = _picked(take, stops + 12.0 if stops > 0 else stops - 12.0, menu, limits)
    if verdict.take is Quality.LOW and not _same(take, beyond):
        why = f"{verdict.why} {bound} Kept."
        return Ruling(Decision.KEEP, why, carry_s=_carried(take, verdict, limits), keeper=(take.take_id,))
    return _settle_for_best(take, verdict, earlier, f"{verdict.why} {bound}")


def _held(take: Take, verdict: Verdict) -> Ruling:
    """A held shutter is never changed for a frame; what burns out, somebody must decide on."""
    if verdict.take is Quality.CLIPPED:
        why = f"{verdict.why} The shutter is held at {shutter_words(take.want.shutter_s)}: meter the base again."
        return Ruling(Decision.ASK, why, keeper=(take.take_id,))
    why = f"{verdict.why} The shutter is held at {shutter_words(take.want.shutter_s)}. Kept."
    return Ruling(Decision.KEEP, why, keeper=(take.take_id,))


# -- a second, longer exposure for the dark end ----------------------------------------------------------------------


def second_shutter(take: Take, verdict: Verdict, menu: Sequence[Choice], limits: Limits) -> Picked | None:
    """The longer shutter that holds the dark end of a take that exceeds; None where no longer one is allowed."""
    stops = verdict.numbers.get("bracket", 0.0)
    # A third on top: the dark end is to lie over the noise limit, not at it.
    picked = _picked(take, stops + 1 / 3, menu, limits, never_longer=False)
    return picked if stops > 0 and picked.choice.value > take.want.shutter_s * 1.1 else None


def _second_wanted(take: Take, verdict: Verdict, menu: Sequence[Choice], limits: Limits) -> Ruling:
    picked = second_shutter(take, verdict, menu, limits)
    carry_s = _carried(take, verdict, limits)
    if picked is None:
        why = f"{verdict.why} No longer time is allowed for a second take."
        return Ruling(Decision.KEEP, why, carry_s=carry_s, keeper=(take.take_id,))
    time = shutter_words(picked.choice.value)
    if limits.second is Second.TAKE:
        why = f"{verdict.why} A second take for its dark end, now {time}."
        return Ruling(Decision.RETAKE, why, picked.choice, carry_s, (take.take_id,), Purpose.BRACKET)
    why = f"{verdict.why} A second take of {time} would hold it: rigd bracket, while the film lies there."
    return Ruling(Decision.KEEP, why, carry_s=carry_s, keeper=(take.take_id,))


def _second_taken(take: Take, verdict: Verdict, history: History, limits: Limits) -> Ruling:
    """Both takes count together, if the second one shows the same film, sharp."""
    if verdict.take is Quality.MISPLACED:
        why = f"{verdict.why} Lay the frame back into the gate, or move on."
        return Ruling(Decision.ASK, why, keeper=history.kept)
    if verdict.take in (Quality.SOFT, Quality.STALE) or has_moved(verdict):
        if len(history.earlier) + 1 >= limits.max_takes:
            return Ruling(Decision.ASK, f"{verdict.why} {limits.max_takes} second takes were made.", None, None,
                          history.kept)  # fmt: skip
        same = Choice(take.want.shutter, take.want.shutter_s)
        return Ruling(Decision.RETAKE, f"{verdict.why} Again, unchanged.", same, None, (), Purpose.BRACKET)
    return Ruling(Decision.KEEP, f"{verdict.why} Both takes count together.", keeper=(*history.kept, take.take_id))


# -- the same again, or the best of all ------------------------------------------------------------------------------


def _repeat(take: Take, verdict: Verdict, earlier: Sequence[Take], limits: Limits) -> Ruling:
    if len(earlier) + 1 >= limits.max_takes:
        return _settle_for_best(take, verdict, earlier, f"{verdict.why} {limits.max_takes} takes were made.")
    if verdict.take is Quality.STALE and any(_as_late(verdict, t.verdict) for t in earlier):
        why = f"{verdict.why} The one before was off by as much: the camera's clock was changed. Press Recover."
        return Ruling(Decision.ASK, why)
    if verdict.take is Quality.SOFT and any(t.verdict is not None and t.verdict.take is Quality.SOFT for t in earlier):
        # A kick does not come twice: what stays soft is the picture or the film. It is kept, and counts as suspect.
        return Ruling(Decision.KEEP, f"{verdict.why} The same twice: kept.", keeper=(take.take_id,))
    same = Choice(take.want.shutter, take.want.shutter_s)
    return Ruling(Decision.RETAKE, f"{verdict.why} Again, unchanged.", shutter=same)


def _as_late(verdict: Verdict, before: Verdict | None) -> bool:
    """True if two files are off in time by the same: an old picture is not, a clock that was changed is."""
    late, earlier = verdict.numbers.get("late_s"), before.numbers.get("late_s") if before else None
    return late is not None and earlier is not None and abs(late - earlier) <= _SAME_CLOCK_S


def _settle_for_best(take: Take, verdict: Verdict, earlier: Sequence[Take], why: str) -> Ruling:
    """No take is as it should be: the best of them counts, every one is kept, and the operator is called."""
    judged = [(t.take_id, t.verdict) for t in earlier if t.verdict is not None] + [(take.take_id, verdict)]
    keeper, _ = min(judged, key=lambda pair: _badness(pair[1]))
    return Ruling(Decision.ASK, why, keeper=(keeper,), carry_s=None)


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
    """The exposure to begin a frame with: the time that is foretold for it, or the setting while nothing is known."""
    wanted = known_s * 2.0**_MIDDLE_STOPS if known_s else first_s
    choice = pick(menu, wanted, limits.shortest_s, limits.longest_s, ripples_hz=limits.ripples_hz).choice
    return Exposure(choice.value, choice.label, f_number, iso)
