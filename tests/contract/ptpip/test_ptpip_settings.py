"""The settings of the simulated body as libgphoto2 shows and sets them."""

from __future__ import annotations

import time
from fractions import Fraction

import pytest
from tests.contract.ptpip.gphoto_user import GphotoUser

from rigd_sim.camera.scales import SHUTTER
from rigd_sim.control.start import SimulatedCamera

ROLES = {
    "shutterspeed", "f-number", "iso", "expprogram", "focusmode", "exposurecompensation", "batterylevel", "datetime",
    "serialnumber", "capturemode",
}  # fmt: skip
"""What a tethering program needs to read of a body."""


def test_every_role_has_its_widget(user: GphotoUser) -> None:
    names = user.do("names")
    assert isinstance(names, list)
    assert set(names) >= ROLES


def test_the_shutter_choices_are_the_nominal_times_to_a_tenth_of_a_millisecond(user: GphotoUser) -> None:
    """libgphoto2 writes property 0x500D as seconds with four decimals and an s."""
    shutter = user.do("get", name="shutterspeed")
    assert isinstance(shutter, dict)
    assert shutter["choices"] == [f"{units / 10_000:.4f}s" for units in SHUTTER]
    assert len(set(shutter["choices"])) == len(SHUTTER)
    for text, seconds in zip(shutter["choices"], SHUTTER.values(), strict=True):
        assert abs(Fraction(text[:-1]) - seconds) <= Fraction(1, 20_000)


@pytest.mark.parametrize(
    ("name", "value", "shown"),
    [
        ("shutterspeed", "0.0001s", "0.0001s"), ("shutterspeed", "30.0000s", "30.0000s"),
        ("shutterspeed", "1/60", "0.0167s"), ("shutterspeed", "0.5", "0.5000s"),
        ("f-number", "f/5.6", "f/5.6"), ("iso", "3200", "3200"), ("exposurecompensation", "-0.7", "-0.7"),
    ],
)  # fmt: skip
def test_what_is_set_is_read_back(user: GphotoUser, name: str, value: str, shown: str) -> None:
    user.do("set", name=name, value=value)
    assert user.do("get", name=name)["value"] == shown


def test_every_shutter_choice_sets_itself(user: GphotoUser, camera: SimulatedCamera) -> None:
    choices = user.do("get", name="shutterspeed")["choices"]
    for choice in choices:
        user.do("set", name="shutterspeed", value=choice)
    sent = [entry for entry in camera.hand.wirelog() if entry["code"] == 0x1016 and entry["params"] == [0x500D]]
    assert len(sent) >= len(choices)
    assert all(entry["response"] == 0x2001 for entry in sent)


def test_a_time_between_the_choices_snaps_to_the_nearest(user: GphotoUser) -> None:
    """The library does that in silence, so a program has to compare what it reads back."""
    user.do("set", name="shutterspeed", value="1/70")
    assert user.do("get", name="shutterspeed")["value"] == "0.0125s"


@pytest.mark.parametrize(("name", "value"), [("iso", "123"), ("f-number", "f/1.0")])
def test_what_is_no_choice_is_refused(user: GphotoUser, name: str, value: str) -> None:
    before = user.do("get", name=name)
    assert user.failure("set", name=name, value=value).code == -2
    assert user.do("get", name=name) == before


def test_setting_costs_no_delayed_acknowledgement(user: GphotoUser) -> None:
    """An initiator with Nagle's algorithm on waits 40 ms for the ACK of its first small packet unless it is quick."""
    seconds = []
    for value in ["100", "200"] * 10:
        user.do("set", name="iso", value=value)
        seconds.append(user.seconds)
    assert sorted(seconds)[len(seconds) // 2] < 0.02


def test_a_dial_turned_on_the_body_is_seen(user: GphotoUser, camera: SimulatedCamera) -> None:
    """The library keeps values for two seconds unless told of a change, which it hears only when asked to wait."""
    user.do("set", name="f-number", value="f/8")
    user.do("get", name="f-number")
    camera.hand.call("turn", setting="f_number", value=1100)
    told = user.do("events", until="unknown", seconds=2)
    assert "5007" in str(told)
    assert user.do("get", name="f-number")["value"] == "f/11"


def test_an_aperture_that_is_no_choice_reads_as_nothing(user: GphotoUser, camera: SimulatedCamera) -> None:
    """A lens without contacts: the value stands in no list."""
    camera.hand.call("turn", setting="f_number", value=0)
    user.do("events", until="unknown", seconds=2)
    assert user.do("get", name="f-number")["value"] is None
    camera.hand.call("turn", setting="f_number", value=800)


def test_battery_serial_number_and_summary(user: GphotoUser, camera: SimulatedCamera) -> None:
    camera.hand.call("turn", setting="battery_level", value=37)
    user.do("events", until="unknown", seconds=2)
    assert user.do("get", name="batterylevel")["value"] == "37%"
    assert user.do("get", name="serialnumber")["value"] == "RS0000001"
    assert "RS0000001" in str(user.do("summary"))


def test_the_clock_can_be_read_and_set(user: GphotoUser, camera: SimulatedCamera) -> None:
    camera.hand.call("clock", offset=7200.0)
    ahead = user.do("get", name="datetime")["value"] - time.time()
    assert ahead == pytest.approx(7200, abs=2)
    user.do("set", name="datetime", value=int(time.time()) - 100)
    user.do("exit")
    user.do("init")
    assert user.do("get", name="datetime")["value"] - time.time() == pytest.approx(-100, abs=2)
