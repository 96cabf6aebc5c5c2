"""Steps: how many, when, and what bounds them (hardware/PROTOCOL.md, "Motion")."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tests.contract.board.bed import CYCLES_PER_S, LACKING, Bed, board_bed
from tests.contract.board.raw import RawHost

TOP, RAMP = 8000, 20000  # steps/s and steps/s^2: the usual settings


def times(bed: Bed) -> list[float]:
    """Seconds from the first step to each."""
    cycles = bed.steps()
    return [(cycle - cycles[0]) / CYCLES_PER_S for cycle in cycles]


@pytest.mark.parametrize("steps", [1, 2, 3, 7, 100, 3200, 4960, 20001])
@pytest.mark.parametrize("way", [1, -1])
def test_a_motion_makes_exactly_its_steps(bed: Bed, host: RawHost, steps: int, way: int) -> None:
    host.say("KEEP silence 5000")
    told = host.say(f"MOVE {way * steps}", 4.0)
    assert told[1:] == [f"#01 REST at={way * steps} why=done"]
    look = bed.look()
    assert (look["steps"], look["net"]) == (steps, way * steps)


def ideal(steps: int, speed: float, ramp: float) -> float:
    """Constant acceleration, then constant speed (kinematics): n / v + v / a, or 2 sqrt(n / a) below top speed."""
    if steps * ramp >= speed * speed:
        return steps / speed + speed / ramp
    return 2 * math.sqrt(steps / ramp)


@pytest.mark.parametrize(("steps", "speed"), [(200, TOP), (1600, TOP), (4960, TOP), (4960, 2500), (9000, 5000)])
def test_a_motion_takes_the_time_of_its_trapezoid(bed: Bed, host: RawHost, steps: int, speed: int) -> None:
    """Within 1 % and two of the longest intervals, by which a train of pulses differs from a smooth motion."""
    host.say("KEEP silence 5000")
    told = host.say(f"MOVE {steps} {speed}", 3.0)
    taken = times(bed)[-1]
    wanted = ideal(steps, speed, RAMP)
    assert taken == pytest.approx(wanted, rel=0.01, abs=2 * 0.00676)
    planned_ms = int(told[0].rpartition("=")[2])
    assert wanted * 1000 <= planned_ms <= wanted * 1000 + 3


def test_speed_rises_with_the_root_of_the_way_and_never_passes_the_top(bed: Bed, host: RawHost) -> None:
    """From rest, v^2 = 2 a s (kinematics), with s in the middle of two steps. The first interval is 4.4 % short by the
    ramp's own correction (0.676 for 1 / sqrt 2)."""
    host.say("MOVE 4960", 2.0)
    at = times(bed)
    back = [at[-1] - moment for moment in reversed(at)]
    assert max(4 / (d - a) for a, d in zip(at, at[4:], strict=False)) <= TOP * 1.01
    for way in (at, back):
        for n in range(1590):
            # An interrupt under way may put a step off by some microseconds: over more steps it weighs less.
            steps = 1 if n < 10 else 4 if n < 400 else 8
            wanted = math.sqrt(2 * RAMP * (n + steps / 2))
            assert steps / (way[n + steps] - way[n]) == pytest.approx(wanted, rel=0.05 if n == 0 else 0.015), n
    assert 1500 / (at[3200] - at[1700]) == pytest.approx(TOP, rel=0.001)


@pytest.mark.skipif(bool(LACKING), reason=f"not installed: {', '.join(LACKING)}")
@pytest.mark.usefixtures("compiled")
def test_twin_and_firmware_step_at_the_same_times(tmp_path: Path, folder: Path) -> None:
    """Not only alike: every step of the two within 10 us, over a motion with all its phases."""
    found = []
    for kind in ("firmware", "twin"):
        place = folder / kind
        place.mkdir()
        with board_bed(kind, place) as bed, RawHost(bed) as host:
            host.read(0.05)
            host.say("MOVE 4960 7000", 2.0)
            host.say("MOVE -333", 1.0)
            at = bed.steps()
            found.append([[cycle - part[0] for cycle in part] for part in (at[:4960], at[4960:])])
    for ours, theirs in zip(*found, strict=True):
        assert len(ours) == len(theirs)
        assert max(abs(a - b) for a, b in zip(ours, theirs, strict=True)) <= 10 * CYCLES_PER_S / 1e6


def test_a_silent_host_stops_the_motor_in_time(bed: Bed, host: RawHost) -> None:
    """Within the setting `silence` and the ramp down from top speed, v / a; the place stays known."""
    host.say("PLACE 0")
    host.say("MOVE 40000", 0.04)
    begun = bed.steps()[0]
    told = host.read(3.0)
    last = bed.steps()[-1]
    assert (last - begun) / CYCLES_PER_S <= 1.0 + TOP / RAMP + 0.02
    at = bed.count()
    assert 1000 < at < 40000
    assert told == [f"#01 REST at={at} why=silent"]
    assert f"at={at} go=0 sure=1 " in host.say("ASK")[0]
    assert bed.count() == at


def test_a_host_that_speaks_keeps_the_motion_going(bed: Bed, host: RawHost) -> None:
    host.say("MOVE 20000", 0.5)
    for _ in range(6):
        assert " go=1 " in host.say("ASK", 0.4)[0]
    assert host.read(1.0)[-1] == "#01 REST at=20000 why=done"


def test_garbage_is_no_sign_of_a_host(bed: Bed, host: RawHost) -> None:
    host.say("MOVE 40000", 0.04)
    told = []
    for _ in range(30):
        host.write(b">05 ASK~00\n")
        told += host.read(0.1)
    assert any(one.endswith("why=silent") for one in told)


def test_halt_slows_down_along_the_ramp(bed: Bed, host: RawHost) -> None:
    host.say("PLACE 0")
    host.say("MOVE 20000", 0.7)
    before = bed.count()
    told = host.say("HALT", 1.0)
    assert told[0] == "<HALT"
    after = bed.count()
    assert TOP * TOP / (2 * RAMP) * 0.98 < after - before < TOP * TOP / (2 * RAMP) + 0.01 * TOP
    assert told[1] == f"#01 REST at={after} why=halt"
    assert f"at={after} go=0 sure=1 " in host.say("ASK")[0]


def test_a_search_that_takes_too_long_ends(bed: Bed, host: RawHost) -> None:
    host.say("KEEP longest 1000")
    told = host.say("SEEK film 8000", 0.6) + host.say("ASK", 1.0)
    assert any(one.endswith("why=time") for one in told)
    assert 1500 < bed.count() < 1700  # a second at the usual creep of 1600 steps/s, and its ramps


def test_nothing_moves_at_power_up(bed: Bed, host: RawHost) -> None:
    for name in ("pedal1", "pedal2", "fault", "stop"):
        bed.call("pin", name=name, on=True)
        bed.call("reset", why="power")
        host.read(0.5)
        bed.call("pin", name=name, on=False)
        host.read(0.2)
        look = bed.look()
        assert (look["steps"], look["enabled"], look["supply"]) == (0, 0, 0), name


def test_a_reset_in_motion_ends_it_for_good(bed: Bed, host: RawHost) -> None:
    host.say("LAMP 9 0 0 0")
    host.say("PLACE 0")
    host.say("MOVE 20000", 0.5)
    bed.call("reset", why="watchdog")
    at = bed.count()
    assert host.read(1.0)[-1] == "#00 BOOT why=watchdog boot=2"
    look = bed.look()
    assert (look["steps"], look["enabled"], look["supply"]) == (at, 0, 0)
    assert " at=0 go=0 sure=0 grip=0 " in host.say("ASK")[0]


def test_a_fault_of_the_motor_driver_ends_a_motion_and_bars_the_next(bed: Bed, host: RawHost) -> None:
    host.say("PLACE 0")
    host.say("MOVE 20000", 0.5)
    bed.call("pin", name="fault", on=True)
    before = bed.count()
    told = host.read(0.1)
    assert bed.count() - before <= 0.002 * TOP
    assert told == [f"#01 REST at={bed.count()} why=fault"]
    assert " sure=0 " in host.say("ASK")[0]
    assert host.say("MOVE 10") == ["!FAULT"]
    bed.call("pin", name="fault", on=False)
    assert host.say("MOVE 10", 0.3)[0] == "<MOVE steps=10 ms=46"


def test_the_direction_can_be_turned_over(bed: Bed, host: RawHost) -> None:
    host.say("KEEP flip 1")
    told = host.say("MOVE 30", 0.5)
    assert told[-1] == "#01 REST at=30 why=done"
    assert bed.look()["net"] == -30
