"""The policy as a table of named cases."""

from __future__ import annotations

from math import log2

import pytest
from msgspec.structs import replace

from rigd.engine.policy import History, Limits, rule
from rigd.model.values import Exposure, Level, Take, Verdict
from rigd.model.words import Decision, Film, Purpose, Quality, Second, Stage
from rigd.ports import Choice

MENU = [Choice(f"2^{i}/3", 2.0 ** (i / 3)) for i in range(-39, 16)]
LIMITS = Limits(max_takes=3, shortest_s=1 / 8000, longest_s=8.0)


def _take(number: int, shutter_s: float = 2.0**-5, verdict: Verdict | None = None) -> Take:
    exposure = Exposure(shutter_s, "", 8.0, 100)
    return Take(f"t-{number:06d}", "f-00001", Purpose.WHOLE, number, exposure, Stage.JUDGED, verdict=verdict)


def _verdict(take: Quality, film: Film | None = Film.PICTURE, off: float = 0.0, clipped: float = 0.0) -> Verdict:
    return Verdict(film, take, "Why.", Level((0, 0, 0), (0, 0, 0), 0.0, clipped, off))


@pytest.mark.parametrize(
    ("quality", "film", "decision"),
    [
        (Quality.GOOD, Film.PICTURE, Decision.KEEP),
        (Quality.EXCEEDS, Film.PICTURE, Decision.KEEP),
        (Quality.SUSPECT, Film.PICTURE, Decision.KEEP),
        (Quality.GOOD, Film.UNEXPOSED, Decision.KEEP),
        (Quality.LOW, Film.UNEXPOSED, Decision.KEEP),
        (Quality.HIGH, Film.UNEXPOSED, Decision.KEEP),
        (Quality.CLIPPED, Film.UNEXPOSED, Decision.RETAKE),
        (Quality.LOW, Film.PICTURE, Decision.RETAKE),
        (Quality.HIGH, Film.PICTURE, Decision.RETAKE),
        (Quality.CLIPPED, Film.PICTURE, Decision.RETAKE),
        (Quality.SOFT, Film.PICTURE, Decision.RETAKE),
        (Quality.STALE, Film.PICTURE, Decision.RETAKE),
        (Quality.SUSPECT, None, Decision.RETAKE),
        (Quality.MISPLACED, Film.PICTURE, Decision.ASK),
        (Quality.GOOD, Film.NO_FILM, Decision.ASK),
    ],
)
def test_first_take(quality: Quality, film: Film | None, decision: Decision) -> None:
    ruling = rule(_take(1), _verdict(quality, film), -2.0, History(), MENU, LIMITS)
    assert ruling.decision is decision
    assert (ruling.keeper == ("t-000001",)) is (decision is Decision.KEEP)


@pytest.mark.parametrize("stops", [-6.0, -2.0, -1 / 3, 1.0, 2.0, 5.0])
def test_a_retake_moves_by_whole_thirds_and_carries_on(stops: float) -> None:
    quality = Quality.HIGH if stops < 0 else Quality.LOW
    ruling = rule(_take(1), _verdict(quality), stops, History(), MENU, LIMITS)
    assert ruling.shutter is not None
    assert log2(ruling.shutter.value / 2.0**-5) == pytest.approx(round(stops * 3) / 3, abs=1e-9)
    assert ruling.carry_s == ruling.shutter.value


def test_an_unchanged_retake_carries_nothing() -> None:
    ruling = rule(_take(1), _verdict(Quality.SOFT), 0.0, History(), MENU, LIMITS)
    assert ruling.shutter is not None
    assert ruling.shutter.value == 2.0**-5
    assert ruling.carry_s is None


def test_a_blank_teaches_no_shutter_time() -> None:
    assert rule(_take(1), _verdict(Quality.GOOD, Film.UNEXPOSED), 0.0, History(), MENU, LIMITS).carry_s is None


def test_after_the_last_take_the_best_one_counts_and_somebody_is_asked() -> None:
    clipped, low = _verdict(Quality.CLIPPED, clipped=9.0), _verdict(Quality.LOW, off=-0.9)
    earlier = [_take(1, verdict=clipped), _take(2, verdict=low)]
    ruling = rule(_take(3), _verdict(Quality.LOW, off=-1.4), 1.4, History(earlier), MENU, LIMITS)
    assert ruling.decision is Decision.ASK
    assert ruling.keeper == ("t-000002",)


def test_the_end_of_the_list_is_said_and_not_repeated() -> None:
    longest = replace(_take(1), want=Exposure(8.0, "8", 8.0, 100))
    ruling = rule(longest, _verdict(Quality.LOW, off=-2.0), 2.0, History(), MENU, LIMITS)
    assert ruling.decision is Decision.ASK
    assert "8 s is the slowest time that is allowed" in ruling.why
    assert ruling.keeper == ("t-000001",)


def test_a_limited_correction_says_so() -> None:
    ruling = rule(_take(1, 4.0), _verdict(Quality.LOW, off=-3.0), 3.0, History(), MENU, LIMITS)
    assert ruling.shutter is not None
    assert ruling.shutter.value == pytest.approx(8.0)
    assert "8 s is the slowest time that is allowed" in ruling.why


def test_a_corrected_frame_is_brought_within_a_third() -> None:
    clipped = _take(1, verdict=_verdict(Quality.CLIPPED, clipped=9.0))
    near = replace(_verdict(Quality.GOOD, off=-0.5), numbers={"correction": 0.5})
    ruling = rule(_take(2), near, 0.0, History([clipped]), MENU, LIMITS)
    assert ruling.decision is Decision.RETAKE
    assert ruling.shutter is not None
    assert ruling.shutter.value == pytest.approx(2.0 ** (-5 + 1 / 3))
    assert rule(_take(2), near, 0.0, History(), MENU, LIMITS).decision is Decision.KEEP
    assert rule(_take(3), near, 0.0, History([clipped, _take(2)]), MENU, LIMITS).decision is Decision.KEEP


def test_what_is_soft_twice_is_kept_and_flagged() -> None:
    soft = _take(1, verdict=_verdict(Quality.SOFT))
    ruling = rule(_take(2), _verdict(Quality.SOFT), 0.0, History([soft]), MENU, LIMITS)
    assert (ruling.decision, ruling.keeper) == (Decision.KEEP, ("t-000002",))


EXCEEDS = replace(_verdict(Quality.EXCEEDS), numbers={"bracket": 2.0, "correction": 0.0})


def test_a_second_exposure_is_offered_in_words() -> None:
    ruling = rule(_take(1), EXCEEDS, 0.0, History(), MENU, LIMITS)
    assert (ruling.decision, ruling.keeper) == (Decision.KEEP, ("t-000001",))
    assert "A second take of" in ruling.why


def test_a_second_exposure_is_taken_by_setting_and_carries_nothing_of_its_length() -> None:
    ruling = rule(_take(1), EXCEEDS, 0.0, History(), MENU, replace(LIMITS, second=Second.TAKE))
    assert (ruling.decision, ruling.purpose, ruling.keeper) == (Decision.RETAKE, Purpose.BRACKET, ("t-000001",))
    assert ruling.shutter is not None
    assert log2(ruling.shutter.value / 2.0**-5) == pytest.approx(2 + 1 / 3)
    assert ruling.carry_s == 2.0**-5


def test_both_exposures_count_together() -> None:
    second = replace(_take(2, 2.0**-3), purpose=Purpose.BRACKET)
    ruling = rule(second, _verdict(Quality.GOOD), 0.0, History((), ("t-000001",)), MENU, LIMITS)
    assert (ruling.decision, ruling.keeper) == (Decision.KEEP, ("t-000001", "t-000002"))
    soft = rule(second, _verdict(Quality.SOFT), 0.0, History((), ("t-000001",)), MENU, LIMITS)
    assert (soft.decision, soft.purpose) == (Decision.RETAKE, Purpose.BRACKET)
    worn = History([_take(3), _take(4)], ("t-000001",))
    assert rule(second, _verdict(Quality.SOFT), 0.0, worn, MENU, LIMITS).keeper == ("t-000001",)


def test_no_longer_time_for_a_second_exposure_is_said() -> None:
    ruling = rule(_take(1), EXCEEDS, 0.0, History(), MENU, replace(LIMITS, longest_s=2.0**-5))
    assert ruling.decision is Decision.KEEP
    assert "No longer time is allowed" in ruling.why


def test_a_held_shutter_is_never_changed() -> None:
    held = replace(LIMITS, held=True)
    low = rule(_take(1), _verdict(Quality.LOW), 0.8, History(), MENU, held)
    assert (low.decision, low.shutter, low.carry_s) == (Decision.KEEP, None, None)
    assert "held at 1/32 s" in low.why
    burnt = rule(_take(1), _verdict(Quality.CLIPPED), -0.8, History(), MENU, held)
    assert (burnt.decision, burnt.shutter) == (Decision.ASK, None)


def test_between_the_steps_of_a_safe_list_a_low_take_is_as_good_as_it_gets() -> None:
    # Under a lamp that ripples with 100 Hz, 1/100 and 1/50 s are safe and nothing between (CHECK-VALUES g).
    menu = [Choice(f"1/{n}", 1 / n) for n in (25, 30, 40, 50, 60, 80, 100, 125, 160, 200)]
    mains = replace(LIMITS, ripples_hz=(100.0,))
    ruling = rule(_take(1, 1 / 100), _verdict(Quality.LOW), 0.8, History(), menu, mains)
    assert ruling.decision is Decision.KEEP
    assert "safe under a lamp on the mains" in ruling.why
    ended = rule(_take(1, 1 / 100), _verdict(Quality.CLIPPED), -2.0, History(), menu, mains)
    assert (ended.decision, ended.keeper) == (Decision.ASK, ("t-000001",))
    assert "No shorter time" in ended.why
