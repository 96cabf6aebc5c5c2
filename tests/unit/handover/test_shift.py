"""The delivery inside the daemon: begun, watched, paused, cancelled, and what it says when it fails."""

from __future__ import annotations

import asyncio

import bagit
import pytest

from rigd.errors import Busy, NotReady
from rigd.handover.shift import Shift


class Gated:
    """One worker in this process that makes a frame whenever the test lets it."""

    size = 1

    def __init__(self) -> None:
        self.may = asyncio.Semaphore(0)
        self.waits = False
        self.closed = False

    async def run(self, slot, work, *args):
        if work.__name__ == "make":
            self.waits = True
            await self.may.acquire()
            self.waits = False
        return work(*args)

    async def close(self) -> None:
        self.closed = True


async def until(shift: Shift, met) -> None:
    """Until a status is as wanted; everything here runs in this loop, so a turn of it is enough to go on."""
    for _ in range(100_000):
        if met(shift.status()):
            return
        await asyncio.sleep(0)
    raise AssertionError(f"never came: {shift.status()}")


@pytest.fixture
async def begun(tmp_path, make_roll):
    gate, now = Gated(), [0.0]
    shift = Shift(lambda: gate, lambda: now[0])
    shift.begin("j-1", "Survey", (make_roll(3),), tmp_path / "job", tmp_path / "out")
    yield shift, gate, now
    await shift.close()


async def test_it_tells_how_far_it_is_and_how_long_it_takes(begun, tmp_path):
    shift, gate, now = begun
    assert (shift.status().doing, shift.status().left_s) == ("running", None)
    now[0] = 10.0
    gate.may.release()
    await until(shift, lambda s: s.progress.made == 1)
    assert shift.status().left_s == 20.0  # 10 s for one, two to go
    for _ in range(2):
        gate.may.release()
    await until(shift, lambda s: s.doing == "done")
    found = shift.status()
    assert found.delivered is not None
    assert found.delivered.whole
    bagit.Bag(str(tmp_path / "out")).validate()
    assert gate.closed


async def test_one_at_a_time(begun, tmp_path, make_roll):
    shift, *_ = begun
    with pytest.raises(Busy, match="running already"):
        shift.begin("j-1", "Survey", (make_roll(1),), tmp_path / "job", tmp_path / "other")


async def test_paused_it_begins_nothing_and_goes_on(begun):
    shift, gate, _ = begun
    await until(shift, lambda s: gate.waits)
    shift.pause()
    for _ in range(3):
        gate.may.release()
    await until(shift, lambda s: s.progress.made == 1)  # the one in hand is finished
    for _ in range(1000):
        await asyncio.sleep(0)
    assert (shift.status().doing, shift.status().progress.made) == ("paused", 1)
    shift.go_on()
    await until(shift, lambda s: s.doing == "done")


async def test_cancelled_it_can_be_begun_again(begun, tmp_path, make_roll):
    shift, gate, _ = begun
    gate.may.release()
    await until(shift, lambda s: s.progress.made == 1)
    assert (await shift.cancel()).doing == "cancelled"
    assert not (tmp_path / "out" / "bagit.txt").exists()
    shift.begin("j-1", "Survey", (make_roll(3),), tmp_path / "job", tmp_path / "out")
    for _ in range(2):
        gate.may.release()
    await until(shift, lambda s: s.doing == "done")
    assert (shift.status().delivered.made, shift.status().delivered.kept) == (2, 1)
    bagit.Bag(str(tmp_path / "out")).validate()


async def test_what_fails_is_said_with_a_remedy(tmp_path, make_roll):
    shift = Shift(Gated)
    roll = make_roll(1)
    (tmp_path / "out").write_text("a file where the folder is to be")
    shift.begin("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "out")
    await until(shift, lambda s: s.doing == "failed")
    assert "is no folder" in shift.status().trouble
    assert "another folder" in shift.status().remedy


async def test_without_a_run_there_is_nothing_to_pause():
    shift = Shift()
    for call in (shift.pause, shift.go_on):
        with pytest.raises(NotReady, match="No handover is running"):
            call()
    with pytest.raises(NotReady):
        await shift.cancel()
    assert shift.status().doing == "nothing"
