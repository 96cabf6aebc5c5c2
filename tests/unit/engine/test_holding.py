"""A shutter that is held: chosen by the base, watched, never changed."""

from __future__ import annotations

from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.engine.holding import by_itself, first_hold, held_at, held_ruling, levels, three_words, unmetered, watched
from rigd.engine.policy import Limits, Ruling
from rigd.imaging import Limits as Metering
from rigd.model.values import Exposure, Level, Take, Verdict
from rigd.model.words import Decision, Film, Purpose, Quality, Stage
from rigd.ports import Choice

MENU = [Choice(f"2^{i}/3", 2.0 ** (i / 3)) for i in range(-39, 16)]
LIMITS, METERING = Limits(), Metering()
# A masked colour negative's base, red over green over blue (CHECK-VALUES e15 and e16: densities 0.20, 0.65, 0.90).
MASKED = (4.0, 4.0 - 1.495, 4.0 - 2.325)


def taken(shutter_s: float = 1 / 32) -> Take:
    return Take("t-000001", "f-00001", Purpose.WHOLE, 1, Exposure(shutter_s, "", 8.0, 100), Stage.JUDGED)


def seen(base_1s: tuple[float, float, float], **more: float) -> Verdict:
    numbers = {f"beside_1s_{name}": v for name, v in zip("rgb", base_1s, strict=True)}
    return Verdict(Film.PICTURE, Quality.GOOD, "Well exposed.", numbers={**numbers, **more})


@given(st.floats(-3.0, 8.0))
def test_the_base_sits_half_a_stop_under_saturation_or_a_third_lower(red: float) -> None:
    # DESIGN section 2: the brightest channel half a stop below saturation; whole thirds from the camera's list.
    held = held_at((red, red - 1.5, red - 2.3), MENU, LIMITS, METERING, "rebate", "t-000001")
    assert -0.5 - 1 / 3 - 0.01 <= max(levels(held)) <= -0.5 + 0.1 + 1e-9


def test_a_limit_that_keeps_the_base_from_its_place_is_told() -> None:
    held = held_at((12.0, 11.0, 10.0), MENU, Limits(shortest_s=1 / 512), METERING, "rebate", "t-000001")
    assert "fastest time that is allowed" in held.bound


def test_a_drift_is_said_with_its_three_channels_and_changes_nothing() -> None:
    held = held_at(MASKED, MENU, LIMITS, METERING, "rebate", "t-000001")
    same = watched(seen(MASKED), held)
    assert same.why == "Well exposed."
    assert same.numbers["drift_g"] == pytest.approx(0.0)
    dim = watched(seen((3.5, 2.0, 1.2)), held)
    assert "drifted since it was metered (R -0.5, G -0.5, B -0.5 stops)" in dim.why
    assert dim.take is Quality.GOOD


def test_the_first_frame_is_taken_again_only_where_the_shutter_changes() -> None:
    held = first_hold(taken(), seen(MASKED), MENU, LIMITS, METERING)
    assert held is not None
    ruling = held_ruling(taken(), seen(MASKED), held)
    assert ruling is not None
    assert (ruling.decision, ruling.shutter) == (Decision.RETAKE, Choice(held.shutter, held.shutter_s))
    assert "R -0." in ruling.why
    assert held_ruling(taken(held.shutter_s), seen(MASKED), held) is None


def test_without_a_base_nothing_is_held_and_a_burnt_out_one_is_looked_at_again() -> None:
    deep = Level((-8.0, -8.0, -8.0), (-4.0, -4.0, -4.0), -6.0, 0.0, 0.0)
    none = Verdict(Film.PICTURE, Quality.GOOD, "Well exposed.", deep)
    assert first_hold(taken(), none, MENU, LIMITS, METERING) is None
    assert unmetered(taken(), none, 1, MENU, LIMITS) is None
    light = Level((-4.0, -4.0, -4.0), (-0.9, -1.0, -1.2), -2.4, 0.0, 0.0)
    hidden = unmetered(taken(), Verdict(Film.PICTURE, Quality.GOOD, "Well exposed.", light), 1, MENU, LIMITS)
    assert hidden is not None
    assert "not seen" in hidden.why
    burnt = Verdict(Film.PICTURE, Quality.GOOD, "Well exposed.", numbers={"base_full": 1.0, "correction": -2.0})
    again = unmetered(taken(), burnt, 1, MENU, LIMITS)
    assert again is not None
    assert again.shutter is not None
    assert log2(again.shutter.value * 32) == pytest.approx(-2.0, abs=0.01)
    assert unmetered(taken(), burnt, 3, MENU, LIMITS) is None


def test_a_frame_without_a_base_is_kept_with_a_word() -> None:
    kept = by_itself(Ruling(Decision.KEEP, "Well exposed.", keeper=("t-000001",)))
    assert "exposed by itself" in kept.why
    again = Ruling(Decision.RETAKE, "Again.")
    assert by_itself(again) is again


def test_three_channels_read_as_three_numbers() -> None:
    assert three_words((-0.5, -1.94, -2.83)) == "R -0.5, G -1.9, B -2.8"
