"""Pedals and lamp on the board (hardware/PROTOCOL.md, "Pedals", "Lamp")."""

from __future__ import annotations

import pytest
from tests.contract.board.bed import Bed
from tests.contract.board.raw import RawHost


def pin(bed: Bed, name: str, on: bool) -> None:
    bed.call("pin", name=name, on=on)


def told_ms(event: str) -> int:
    return int(event.rpartition("=")[2])


@pytest.mark.parametrize("number", [1, 2])
def test_a_press_and_its_release_are_told_with_the_boards_time(bed: Bed, host: RawHost, number: int) -> None:
    now_ms = int(str(bed.look()["us"])) / 1000
    pin(bed, f"pedal{number}", True)
    host_down = host.read(0.2)
    pin(bed, f"pedal{number}", False)
    host_up = host.read(0.2)
    assert [one.rpartition("=")[0] for one in host_down + host_up] == [
        f"#01 PEDAL {number} down ms",
        f"#02 PEDAL {number} up ms",
    ]
    assert told_ms(host_down[0]) == pytest.approx(now_ms + 3, abs=2)
    assert told_ms(host_up[0]) - told_ms(host_down[0]) == pytest.approx(200, abs=2)


def test_a_press_is_told_within_ten_milliseconds(bed: Bed, host: RawHost) -> None:
    pin(bed, "pedal1", True)
    assert host.read(0.010)[0].startswith("#01 PEDAL 1 down")


def test_bounces_are_one_press(bed: Bed, host: RawHost) -> None:
    """Contacts that bounce for 30 ms (common practice: up to 40)."""
    told = []
    for n in range(10):
        pin(bed, "pedal1", n % 2 == 0)
        told += host.read(0.003)
    pin(bed, "pedal1", True)
    told += host.read(0.2)
    pin(bed, "pedal1", False)
    told += host.read(0.2)
    assert [one.split()[3] for one in told] == ["down", "up"]


def test_a_spike_of_a_millisecond_is_nothing(bed: Bed, host: RawHost) -> None:
    pin(bed, "pedal1", True)
    bed.advance(1000)
    pin(bed, "pedal1", False)
    assert host.read(0.2) == []


def test_a_tap_shorter_than_the_lock_ends_after_it(bed: Bed, host: RawHost) -> None:
    pin(bed, "pedal1", True)
    told = host.read(0.015)
    pin(bed, "pedal1", False)
    told += host.read(0.2)
    assert [one.split()[3] for one in told] == ["down", "up"]
    assert told_ms(told[1]) - told_ms(told[0]) <= 46


def test_a_pedal_held_at_power_up_must_be_let_go_first(bed: Bed, host: RawHost) -> None:
    pin(bed, "pedal1", True)
    host.read(0.2)
    bed.call("reset", why="power")
    assert host.read(0.5) == ["#00 BOOT why=power boot=2"]
    pin(bed, "pedal1", False)
    assert host.read(0.2)[0].startswith("#01 PEDAL 1 up")


def test_pedals_that_open_when_pressed(bed: Bed, host: RawHost) -> None:
    told = host.say("KEEP flip 4")[1:]
    assert [" ".join(one.split()[1:4]) for one in told] == ["PEDAL 1 down", "PEDAL 2 down"]
    pin(bed, "pedal1", True)
    assert " ".join(host.read(0.2)[0].split()[1:4]) == "PEDAL 1 up"


@pytest.mark.parametrize(
    ("said", "duty"),
    [
        ("LAMP 255 0 0 0", [255, 0, 0, 0]),
        ("LAMP 0 128 0 0", [0, 128, 0, 0]),
        ("LAMP 0 0 64 0", [0, 0, 64, 0]),
        ("LAMP 0 0 0 1", [0, 0, 0, 1]),
    ],
)
def test_each_channel_drives_its_own_output(bed: Bed, host: RawHost, said: str, duty: list[int]) -> None:
    host.say(said)
    assert (bed.look()["supply"], bed.look()["lamp"]) == (1, duty)
    host.say("LAMP 0 0 0 0")
    assert (bed.look()["supply"], bed.look()["lamp"]) == (0, [0, 0, 0, 0])


def test_the_lamp_says_when_it_is_warm(bed: Bed, host: RawHost) -> None:
    host.say("KEEP warm 1000")
    assert host.say("LAMP 200 0 0 0", 0.3)[0].endswith("warm=1000")
    left = told_ms(host.say("LAMP")[0])
    assert left == pytest.approx(700, abs=20)
    assert host.read(1.0) == ["#01 LAMP warm"]
    assert host.say("LAMP 0 0 99 0")[0].endswith("warm=0")  # another colour: it stays warm
    host.say("LAMP 0 0 0 0")
    assert host.say("LAMP 1 0 0 0")[0].endswith("warm=1000")


def test_a_silent_host_leaves_the_lamp_dark_in_the_end(bed: Bed, host: RawHost) -> None:
    host.say("KEEP dark 10")
    host.say("KEEP warm 0")
    host.say("LAMP 200 0 0 0")
    host.read(9.5)
    assert bed.look()["supply"] == 1
    assert host.read(1.0) == ["#02 LAMP off why=idle"]
    assert bed.look()["supply"] == 0


def test_a_host_that_speaks_keeps_the_lamp_on(bed: Bed, host: RawHost) -> None:
    host.say("KEEP dark 10")
    host.say("LAMP 200 0 0 0")
    for _ in range(3):
        host.say("ASK", 8.0)
    assert bed.look()["supply"] == 1
