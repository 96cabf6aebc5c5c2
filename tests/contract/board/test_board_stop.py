"""The stop: at once, latched, cleared on purpose alone (hardware/PROTOCOL.md, "Stop")."""

from __future__ import annotations

import pytest
from tests.contract.board.bed import CYCLES_PER_S, Bed
from tests.contract.board.raw import RawHost, line

ESC = b"\x1b"


def press(bed: Bed, host: RawHost, how: str) -> None:
    if how == "input":
        bed.call("pin", name="stop", on=True)
    else:
        host.write(ESC)


@pytest.mark.parametrize("how", ["input", "host"])
def test_a_stop_in_motion_acts_at_once(bed: Bed, host: RawHost, how: str) -> None:
    """At most two more steps at top speed: one under way, one while the byte arrives."""
    host.say("LAMP 255 0 0 0")
    host.say("PLACE 0")
    host.say("MOVE 20000", 0.7)
    before = bed.count()
    press(bed, host, how)
    told = host.read(0.5)
    at = bed.count()
    assert at - before <= 2
    assert told == [f"#01 REST at={at} why=stop", f"#02 STOP by={how} at={at}"]
    look = bed.look()
    assert (look["enabled"], look["supply"], look["lamp"]) == (0, 0, [0, 0, 0, 0])
    assert " sure=0 grip=0 film=0 stop=1 why=stop " in host.say("ASK")[0]


@pytest.mark.parametrize("how", ["input", "host"])
def test_a_stop_stays_until_it_is_cleared(bed: Bed, host: RawHost, how: str) -> None:
    press(bed, host, how)
    host.read(0.1)
    bed.call("pin", name="stop", on=False)
    host.read(1.0)
    for said in ("MOVE 10", "SEEK film 10", "PLACE 0", "GRIP on", "LAMP 1 0 0 0"):
        assert host.say(said, 0.2) == ["!STOPPED"]
    assert bed.count() == 0
    assert host.say("CLEAR") == ["<CLEAR"]
    assert host.say("MOVE 10", 0.3)[-1] == "#02 REST at=10 why=done"


def test_a_stop_that_is_still_pressed_cannot_be_cleared(bed: Bed, host: RawHost) -> None:
    bed.call("pin", name="stop", on=True)
    host.read(0.1)
    assert host.say("CLEAR") == ["!HELD"]
    assert host.say("MOVE 10") == ["!STOPPED"]
    bed.call("pin", name="stop", on=False)
    assert host.say("CLEAR") == ["<CLEAR"]


def test_a_very_short_press_is_enough(bed: Bed, host: RawHost) -> None:
    bed.call("pin", name="stop", on=True)
    bed.advance(20)
    bed.call("pin", name="stop", on=False)
    assert host.read(0.1) == ["#01 STOP by=input at=0"]
    assert " stop=1 " in host.say("ASK")[0]


def test_a_stop_pressed_at_power_up_is_latched(bed: Bed, host: RawHost) -> None:
    bed.call("pin", name="stop", on=True)
    host.read(0.1)
    bed.call("reset", why="power")
    assert host.read(0.1) == ["#00 BOOT why=power boot=2", "#01 STOP by=input at=0"]
    assert host.say("MOVE 10") == ["!STOPPED"]


def test_an_escape_acts_in_the_middle_of_a_line(bed: Bed, host: RawHost) -> None:
    host.say("MOVE 20000", 0.7)
    before = bed.count()
    host.write(line(77, "ASK")[:5] + ESC)
    told = host.read(0.2)
    arriving = 6 * 11 / 57142  # s for the bytes of that piece
    assert bed.count() - before <= 8000 * arriving + 2
    assert told[0].endswith("why=stop")


def test_an_escape_overtakes_lines_that_are_waiting(bed: Bed, host: RawHost) -> None:
    """It is seen as it is received, not when the lines before it have been carried out."""
    host.say("MOVE 20000", 0.7)
    host.write(line(70, "ASK") * 8 + ESC)
    bed.advance(int((8 * 11 + 1) * 11 / 57142 * 1e6) + 2000)
    last = bed.steps()[-1]
    bed.advance(200_000)
    assert bed.steps()[-1] == last
    assert bed.look()["enabled"] == 0


def test_a_second_stop_is_not_told_again(bed: Bed, host: RawHost) -> None:
    host.write(ESC * 3)
    assert host.read(0.1) == ["#01 STOP by=host at=0"]
    bed.call("pin", name="stop", on=True)
    assert host.read(0.1) == []


def test_no_step_comes_later_than_the_stop(bed: Bed, host: RawHost) -> None:
    """The firmware's step interrupt is off, not only slowed: nothing for ten seconds."""
    host.say("MOVE 20000", 0.3)
    host.write(ESC)
    host.read(0.1)
    now = bed.look()["us"]
    bed.advance(10_000_000)
    assert bed.steps()[-1] / CYCLES_PER_S * 1e6 <= float(str(now))
