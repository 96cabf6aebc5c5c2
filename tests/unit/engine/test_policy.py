"""The policy as a table of named cases."""

from __future__ import annotations

from math import log2

import pytest
from msgspec.structs import replace

from rigd.engine.policy import Limits, rule
from rigd.model.values import Exposure, Level, Take, Verdict
from rigd.model.words import Decision, Film, Purpose, Quality, Stage
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
    ruling = rule(_take(1), _verdict(quality, film), -2.0, [], MENU, LIMITS)
    assert ruling.decision is decision
    assert (ruling.keeper == "t-000001") is (decision is Decision.KEEP)


@pytest.mark.parametrize("stops", [-6.0, -2.0, -1 / 3, 1.0, 2.0, 5.0])
def test_a_retake_moves_by_whole_thirds_and_carries_on(stops: float) -> None:
    quality = Quality.HIGH if stops < 0 else Quality.LOW
    ruling = rule(_take(1), _verdict(quality), stops, [], MENU, LIMITS)
    assert ruling.shutter is not None
    assert log2(ruling.shutter.value / 2.0**-5) == pytest.approx(round(stops * 3) / 3, abs=1e-9)
    assert ruling.carry_s == ruling.shutter.value


def test_an_unchanged_retake_carries_nothing() -> None:
    ruling = rule(_take(1), _verdict(Quality.SOFT), 0.0, [], MENU, LIMITS)
    assert ruling.shutter is not None
    assert ruling.shutter.value == 2.0**-5
    assert ruling.carry_s is None


def test_a_blank_teaches_no_shutter_time() -> None:
    assert rule(_take(1), _verdict(Quality.GOOD, Film.UNEXPOSED), 0.0, [], MENU, LIMITS).carry_s is None


def test_after_the_last_take_the_best_one_counts_and_somebody_is_asked() -> None:
    clipped, low = _verdict(Quality.CLIPPED, clipped=9.0), _verdict(Quality.LOW, off=-0.9)
    earlier = [_take(1, verdict=clipped), _take(2, verdict=low)]
    ruling = rule(_take(3), _verdict(Quality.LOW, off=-1.4), 1.4, earlier, MENU, LIMITS)
    assert ruling.decision is Decision.ASK
    assert ruling.keeper == "t-000002"


def test_the_end_of_the_list_is_said_and_not_repeated() -> None:
    longest = replace(_take(1), want=Exposure(8.0, "8", 8.0, 100))
    ruling = rule(longest, _verdict(Quality.LOW, off=-2.0), 2.0, [], MENU, LIMITS)
    assert ruling.decision is Decision.ASK
    assert "end here" in ruling.why
    assert ruling.keeper == "t-000001"


def test_a_limited_correction_says_so() -> None:
    ruling = rule(_take(1, 4.0), _verdict(Quality.LOW, off=-3.0), 3.0, [], MENU, LIMITS)
    assert ruling.shutter is not None
    assert ruling.shutter.value == pytest.approx(8.0)
    assert "end there" in ruling.why


def test_a_corrected_frame_is_brought_within_a_third() -> None:
    clipped = _take(1, verdict=_verdict(Quality.CLIPPED, clipped=9.0))
    near = replace(_verdict(Quality.GOOD, off=-0.5), numbers={"correction": 0.5})
    ruling = rule(_take(2), near, 0.0, [clipped], MENU, LIMITS)
    assert ruling.decision is Decision.RETAKE
    assert ruling.shutter is not None
    assert ruling.shutter.value == pytest.approx(2.0 ** (-5 + 1 / 3))
    assert rule(_take(2), near, 0.0, [], MENU, LIMITS).decision is Decision.KEEP
    assert rule(_take(3), near, 0.0, [clipped, _take(2)], MENU, LIMITS).decision is Decision.KEEP


def test_what_is_soft_twice_is_kept_and_flagged() -> None:
    soft = _take(1, verdict=_verdict(Quality.SOFT))
    ruling = rule(_take(2), _verdict(Quality.SOFT), 0.0, [soft], MENU, LIMITS)
    assert (ruling.decision, ruling.keeper) == (Decision.KEEP, "t-000002")
