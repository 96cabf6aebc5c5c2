"""A delivery from plans to a bag: whole, repeated, interrupted, refused. Bags are judged by the `bagit` package."""

from __future__ import annotations

import asyncio
import os
import resource
import signal
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import bagit
import pytest
from msgspec.structs import replace

from rigd.errors import Busy, DiskFaulty, DiskFull, InputError
from rigd.handover import record
from rigd.handover.deliver import Delivered, Delivery, Progress
from rigd.handover.making import make
from rigd.handover.planning import RollPlan
from rigd.handover.slots import LocalWorkers, WorkerDied, in_thread
from rigd.handover.values import Print

TODAY = date(2026, 3, 1)


class Inline:
    """Workers in this process: what is tested here is the order of things, not processes."""

    size = 2

    async def run(self, slot, work, *args):
        return work(*args)

    async def close(self) -> None:
        pass


async def deliver(tmp_path: Path, *rolls: RollPlan, job: str = "j-1", tell=lambda step: None) -> Delivered:
    delivery = Delivery(job, "Survey", rolls, tmp_path / "job", tmp_path / "out", Inline(), tell)
    return await delivery.run(TODAY)


def payload(tmp_path: Path) -> set[str]:
    top = tmp_path / "out" / "data"
    return {p.relative_to(top).as_posix() for p in top.rglob("*") if p.is_file()}


async def test_a_roll_becomes_a_valid_bag(tmp_path, make_roll):
    done = await deliver(tmp_path, make_roll(2))
    assert (done.frames, done.made, done.kept, done.troubles) == (2, 2, 0, ())
    assert payload(tmp_path) == {
        *(f"Q_7/{folder}/q-00{n}.{end}" for n in (1, 2) for folder, end in
          (("raw", "dng"), ("positives", "tif"), ("proofs", "jpg"))),
        "Q_7/roll.json", "Q_7/README.txt", "Q_7/frames.csv", "Q_7/contact-sheet.pdf", "Q_7/contact-sheet-1.png",
    }  # fmt: skip
    bag = bagit.Bag(str(tmp_path / "out"))
    bag.validate()
    assert (bag.version_info, bag.info["Bagging-Date"]) == ((1, 0), "2026-03-01")
    assert sorted(bag.algorithms) == ["sha256", "sha512"]


async def test_coreutils_agree_with_the_manifests(tmp_path, make_roll):
    await deliver(tmp_path, make_roll(1))
    for algorithm in ("sha256", "sha512"):
        for manifest in (f"manifest-{algorithm}.txt", f"tagmanifest-{algorithm}.txt"):
            command = [f"{algorithm}sum", "--check", "--quiet", "--strict", manifest]
            found = await asyncio.to_thread(subprocess.run, command, cwd=tmp_path / "out", check=False)
            assert found.returncode == 0


async def test_one_flipped_bit_is_found(tmp_path, make_roll):
    await deliver(tmp_path, make_roll(1))
    victim = tmp_path / "out" / "data" / "Q_7" / "positives" / "q-001.tif"
    body = bytearray(victim.read_bytes())
    body[len(body) // 2] ^= 1
    victim.write_bytes(bytes(body))
    with pytest.raises(bagit.BagValidationError, match=r"q-001\.tif"):
        bagit.Bag(str(tmp_path / "out")).validate()


async def test_a_second_run_makes_only_what_changed(tmp_path, make_roll):
    roll = make_roll(3)
    await deliver(tmp_path, roll)
    again = await deliver(tmp_path, roll)
    assert (again.made, again.kept) == (0, 3)
    lighter = replace(roll.frames[1], print=Print(lighter_stops=0.7))
    changed = await deliver(tmp_path, replace(roll, frames=(roll.frames[0], lighter, roll.frames[2])))
    assert (changed.made, changed.kept) == (1, 2)
    (tmp_path / "out" / "data" / "Q_7" / "proofs" / "q-003.jpg").unlink()
    mended = await deliver(tmp_path, replace(roll, frames=(roll.frames[0], lighter, roll.frames[2])))
    assert (mended.made, mended.kept) == (1, 2)
    bagit.Bag(str(tmp_path / "out")).validate()


async def test_another_name_leaves_nothing_of_the_old_one(tmp_path, make_roll):
    roll = make_roll(1)
    await deliver(tmp_path, roll)
    (tmp_path / "out" / "data" / "Q_7" / "letter.txt").write_text("to whom it may concern")
    frame = replace(roll.frames[0], name="quay-1")
    for _ in range(2):
        await deliver(tmp_path, replace(roll, frames=(frame,), raws=(replace(roll.raws[0], to="raw/quay-1.dng"),)))
    assert not any("q-001" in path for path in payload(tmp_path))
    assert {"Q_7/positives/quay-1.tif", "Q_7/raw/quay-1.dng", "Q_7/letter.txt"} <= payload(tmp_path)
    bagit.Bag(str(tmp_path / "out")).validate()


async def test_the_same_plans_give_the_same_bytes(tmp_path, make_roll):
    roll = make_roll(1)
    await deliver(tmp_path, roll)
    first = (tmp_path / "out" / "manifest-sha512.txt").read_bytes()
    other = Delivery("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "other", Inline())
    await other.run(TODAY)
    assert (tmp_path / "other" / "manifest-sha512.txt").read_bytes() == first


async def test_a_changed_raw_is_named_and_the_rest_goes_on(tmp_path, make_roll):
    roll = make_roll(3)
    victim = tmp_path / "job" / "Q_7" / "q-002.dng"
    victim.write_bytes(victim.read_bytes()[:-1] + b"\0\1")
    done = await deliver(tmp_path, roll)
    assert not done.whole
    assert all("q-002.dng is not what was stored" in t.what for t in done.troubles)
    assert not (tmp_path / "out" / "bagit.txt").exists()
    assert {"Q_7/positives/q-001.tif", "Q_7/positives/q-003.tif"} <= payload(tmp_path)
    assert not any("q-002" in path for path in payload(tmp_path))


async def test_a_missing_raw_comes_back_and_the_delivery_is_completed(tmp_path, make_roll):
    roll = make_roll(2)
    victim = tmp_path / "job" / "Q_7" / "q-001.dng"
    body = victim.read_bytes()
    victim.unlink()
    broken = await deliver(tmp_path, roll)
    assert any("is gone" in t.what for t in broken.troubles)
    victim.write_bytes(body)
    done = await deliver(tmp_path, roll)
    assert (done.made, done.kept, done.troubles) == (2, 0, ())  # the roll's balance has one frame more
    bagit.Bag(str(tmp_path / "out")).validate()


async def test_two_at_once_are_refused(tmp_path, make_roll):
    roll = make_roll(1)
    with record.alone(tmp_path / "out"), pytest.raises(Busy, match="Another handover"):
        await deliver(tmp_path, roll)


async def test_a_folder_of_somebody_else_is_left_alone(tmp_path, make_roll):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letters.txt").write_text("dear harbour master")
    with pytest.raises(InputError, match="no delivery of ours"):
        await deliver(tmp_path, make_roll(1))
    assert [p.name for p in (tmp_path / "out").iterdir() if p.name != record.LOCK] == ["letters.txt"]


async def test_another_job_s_delivery_is_left_alone(tmp_path, make_roll):
    roll = make_roll(1)
    await deliver(tmp_path, roll)
    with pytest.raises(InputError, match="another job"):
        await deliver(tmp_path, roll, job="j-2")


async def test_a_cancelled_run_is_no_bag_and_the_next_goes_on(tmp_path, make_roll):
    roll = make_roll(3)
    await deliver(tmp_path, roll)  # a whole bag, which the change below opens again
    darker = replace(roll, frames=tuple(replace(f, print=Print(contrast=1.5)) for f in roll.frames))
    task: asyncio.Task[Delivered]

    def stop_after_one(step: Progress) -> None:
        if step.made == 1:
            task.cancel()

    task = asyncio.create_task(deliver(tmp_path, darker, tell=stop_after_one))
    with pytest.raises(asyncio.CancelledError):
        await task
    assert not (tmp_path / "out" / "bagit.txt").exists()
    done = await deliver(tmp_path, darker)
    assert done.made + done.kept == 3
    bagit.Bag(str(tmp_path / "out")).validate()


class FullDisk(Inline):
    """The disk is full as soon as a frame is made."""

    def __init__(self) -> None:
        self.begun = 0

    async def run(self, slot, work, *args):
        if work is make:
            self.begun += 1
            raise DiskFull("Writing it: the disk is full.", "", "Make room.")
        return work(*args)


async def test_a_full_disk_ends_the_run_with_one_word_and_the_next_goes_on(tmp_path, make_roll):
    roll, full = make_roll(6), FullDisk()
    with pytest.raises(DiskFull, match="disk is full"):
        await Delivery("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "out", full).run(TODAY)
    assert full.begun <= full.size  # nothing further was begun
    assert not (tmp_path / "out" / "bagit.txt").exists()
    assert (await deliver(tmp_path, roll)).whole


async def test_a_really_full_disk_is_said_by_name(tmp_path, make_roll):
    roll = make_roll(1)
    with limited_files(4096), pytest.raises(DiskFaulty, match=r"Writing .*q-001\.tif"):
        make(roll.frames[0], tmp_path / "job", tmp_path / "out")
    assert not [p for p in (tmp_path / "out").rglob("*") if p.is_file()]  # nothing half-written under any name


@contextmanager
def limited_files(size: int) -> Iterator[None]:
    """No file may grow beyond that: setrlimit(2), a write then fails as on a disk that will not take it."""
    before, handler = resource.getrlimit(resource.RLIMIT_FSIZE), signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)


async def test_paused_nothing_is_begun(tmp_path, make_roll):
    roll = make_roll(2)
    steps: list[Progress] = []
    delivery = Delivery("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "out", Inline(), steps.append)
    delivery.pause()
    task = asyncio.create_task(delivery.run(TODAY))
    for _ in range(50):
        await asyncio.sleep(0)
    assert delivery.progress.made == 0
    delivery.go_on()
    assert (await task).whole


def die_once(flag: str) -> int:
    """Kills its own process the first time."""
    path = Path(flag)
    if not path.exists():
        path.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return os.getpid()


def die(_: str) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


async def test_a_worker_that_is_killed_costs_its_own_frame_s_time_alone(tmp_path):
    workers = LocalWorkers(2)
    try:
        steady = await workers.run(1, os.getpid)
        assert await workers.run(0, die_once, str(tmp_path / "died")) != steady
        assert await workers.run(1, os.getpid) == steady  # the other slot's process never noticed
        with pytest.raises(WorkerDied, match="three times"):
            await workers.run(0, die, "")
    finally:
        await workers.close()


async def test_real_workers_make_the_same_bag(tmp_path, make_roll):
    roll = make_roll(2)
    await deliver(tmp_path, roll)
    inline = (tmp_path / "out" / "manifest-sha256.txt").read_bytes()
    workers = LocalWorkers(2)
    try:
        other = Delivery("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "other", workers)
        await other.run(TODAY)
    finally:
        await workers.close()
    assert (tmp_path / "other" / "manifest-sha256.txt").read_bytes() == inline


async def test_a_cancelled_run_ends_only_when_nothing_is_written_any_more():
    begun, may = asyncio.Event(), threading.Event()
    loop, written = asyncio.get_running_loop(), []

    def slowly() -> None:
        loop.call_soon_threadsafe(begun.set)
        may.wait()
        written.append("whole")

    task = asyncio.create_task(in_thread(slowly))
    await begun.wait()
    task.cancel()
    for _ in range(100):
        await asyncio.sleep(0)
    assert not task.done()
    may.set()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert written == ["whole"]
