from __future__ import annotations

from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.camera import menus
from rigd.ports import Choice


@pytest.mark.parametrize(
    ("label", "value"),
    [
        ("1/125", 1 / 125),
        ("1/2.5", 0.4),
        ("10/13", 10 / 13),
        ("1/60 s", 1 / 60),
        ("30", 30.0),
        ("30s", 30.0),
        ('1.3"', 1.3),
        ("2.5000s", 2.5),
        ("0.0080s", 1 / 125),
        # Rounded to 0.1 ms, as the standard property counts (ISO 15740, property 0x500D): the nominal time is meant.
        ("0.0167s", 1 / 60),
        ("0.0333s", 1 / 30),
        ("0.0063s", 1 / 160),
        ("0.0012s", 1 / 800),
        ("0.0013s", 1 / 800),
        ("0.0001s", 1 / 8000),
        # No nominal time is that near: the number itself.
        ("0.0900s", 0.09),
        ("0.3333s", 0.3333),
    ],
)
def test_seconds_of_a_shutter_label(label: str, value: float) -> None:
    assert menus.seconds(label) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("label", ["bulb", "Bulb", "Time", "x 200", "Auto", "", "0.0000s", "0", "1/0", "-1", "1/125x"])
def test_what_is_no_time_has_no_seconds(label: str) -> None:
    assert menus.seconds(label) is None


def test_the_nominal_times_are_the_55_third_stops_of_the_exposure_table() -> None:
    """CHECK-VALUES c1, c4 (computed): true thirds are 2^-(i/3); no nominal time from 30 s to 1/8000 s is off by more
    than 0.0931 stop."""
    assert len(menus.NOMINAL_S) == 55
    off = [log2(time) * 3 + (i - 15) for i, time in enumerate(menus.NOMINAL_S)]
    assert max(abs(thirds) / 3 for thirds in off) == pytest.approx(0.0931, abs=5e-5)
    assert menus.SAME_STOPS > 0.0931


@given(st.sampled_from(menus.NOMINAL_S))
def test_every_nominal_time_survives_its_label_as_a_fraction(time: float) -> None:
    label = f"{time:g}" if time >= 0.3 else f"1/{round(1 / time)}"
    assert menus.seconds(label) == pytest.approx(time, rel=1e-12)


@pytest.mark.parametrize(
    ("label", "value"),
    [("f/8", 8.0), ("F5.6", 5.6), ("11", 11.0), ("f/1.2", 1.2), ("f/0", None), ("--", None), ("", None)],
)
def test_f_numbers(label: str, value: float | None) -> None:
    assert menus.f_number(label) == value


@pytest.mark.parametrize(
    ("label", "value"), [("100", 100.0), ("ISO 200", 200.0), ("Auto", None), ("Lo 1", None), ("Hi 0.3", None)]
)
def test_sensitivities(label: str, value: float | None) -> None:
    assert menus.iso(label) == value


@pytest.mark.parametrize(("label", "value"), [("50%", 50), ("100", 100), ("3 %", 3), ("Low", None), ("", None)])
def test_battery(label: str, value: int | None) -> None:
    assert menus.percent(label) == value


def test_choices_keep_the_cameras_order_and_leave_bulb_out() -> None:
    assert menus.choices(["bulb", "1", "1/2", "1", "Time"], menus.seconds) == (Choice("1", 1.0), Choice("1/2", 0.5))


def test_find_takes_the_label_where_it_means_the_value_and_else_the_nearest() -> None:
    menu = menus.choices(["1/60", "1/64", "1/30"], menus.seconds)
    assert menus.find(menu, 1 / 64, "1/60") == Choice("1/60", 1 / 60)
    assert menus.find(menu, 1 / 64) == Choice("1/64", 1 / 64)
    assert menus.find(menu, 1 / 30, "1/60") == Choice("1/30", 1 / 30)
    assert menus.find(menu, 1 / 45) is None
    assert menus.find((), 1.0) is None


def test_f_numbers_count_two_stops_for_a_doubling() -> None:
    menu = menus.choices(["f/8", "f/9"], menus.f_number)
    # 8 to 8.3 is 2 log2(8.3/8) = 0.106 stop.
    assert menus.find(menu, 8.3, doubling=2) is None
    assert menus.find(menu, 8.2, doubling=2) == Choice("f/8", 8.0)
