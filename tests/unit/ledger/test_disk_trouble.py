"""A write that fails is never passed over: it raises, and nothing more is taken until the ledger is opened anew."""

from __future__ import annotations

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.unit.ledger.ledgers import opened, story
from tests.unit.store.small_disk import fill, small_disk

from rigd import paths
from rigd.errors import DiskFaulty, DiskFull, RigdError
from rigd.ledger import Ledger
from rigd.model.events import Committed, Paused
from rigd.store import Store
from rigd.store.ballast import Ballast
from rigd.store.disk import Disk


async def until_full(ledger: Ledger) -> list[Committed]:
    """Append until the disk is full; what was acknowledged before."""
    done: list[Committed] = []
    for n in range(10_000):
        try:
            done += await ledger.append(Paused(f"operator {n} " + "x" * 500))
        except DiskFull:
            return done
    raise AssertionError("the disk never filled up")


async def test_on_a_full_disk_the_ballast_lets_the_ledger_commit(tmp_path: Path) -> None:
    with small_disk("4m") as root:
        ballast = Ballast(paths.ballast_file(root), Disk(), 1 << 20)
        ballast.reserve()
        async with opened(root) as ledger:
            fill(root, leave=128 << 10)
            done = await until_full(ledger)
            for _ in range(2):
                with pytest.raises(DiskFull, match="takes no more events"):
                    await ledger.append(Paused("refused"))
            assert await ledger.read() == done
            assert ballast.release()
            assert await ledger.reopen() == ()
            done += await ledger.append(Paused("after"))
            await ledger.check()
            assert await ledger.read() == done
            assert ledger.state.seq == len(done)
        (root / "filling").unlink()
        ballast.reserve()
        async with opened(root) as ledger:
            assert await ledger.read() == done


async def test_a_ledger_on_a_full_disk_can_still_be_read(tmp_path: Path) -> None:
    with small_disk("4m") as root:
        async with opened(root) as ledger:
            done = await ledger.append(*story(100))
        fill(root)
        async with opened(root) as ledger:
            assert tuple(await ledger.read()) == done


async def test_the_store_keeps_the_ballast_of_its_own_job(tmp_path: Path) -> None:
    Store(tmp_path).ballast.reserve()
    assert paths.ballast_file(tmp_path).stat().st_blocks * 512 >= 64 << 20
    Store(tmp_path).ballast.release()
    assert not paths.ballast_file(tmp_path).exists()


async def test_a_ledger_cannot_be_made_on_a_full_disk(tmp_path: Path) -> None:
    with small_disk("1m") as root:
        filling = fill(root)
        with pytest.raises(DiskFull):
            async with opened(root):
                pass
        filling.unlink()
        async with opened(root) as ledger:
            assert (await ledger.append(Paused("after")))[0].seq == 1


@contextmanager
def writes_fail_beyond(size: int) -> Iterator[None]:
    """The kernel refuses to write this process's files beyond `size` bytes (setrlimit(2), EFBIG)."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


async def test_a_write_that_the_system_refuses_stops_the_ledger(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        done = [*await ledger.append(*story(50))]
        size = paths.ledger_file(tmp_path).stat().st_size
        with writes_fail_beyond(size), pytest.raises(DiskFaulty):
            await ledger.append(*(Paused(f"operator {n}") for n in range(1000)))
        with pytest.raises(DiskFaulty, match="takes no more events"):
            await ledger.append(Paused("refused"))
        assert ledger.state.seq == len(done)
        assert await ledger.reopen() == ()
        done += await ledger.append(Paused("after"))
        assert await ledger.read() == done
        await ledger.check()


async def test_a_checkpoint_that_fails_costs_nothing_but_itself(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(200))
        size = paths.ledger_file(tmp_path).stat().st_size
        with writes_fail_beyond(size), pytest.raises(DiskFaulty):
            await ledger.checkpoint()
        await ledger.append(Paused("after"))
        await ledger.checkpoint()
    async with opened(tmp_path) as ledger:
        assert ledger.state.seq == 201


async def test_what_a_failing_disk_wrote_after_all_is_told_at_reopening(tmp_path: Path) -> None:
    """As after a commit whose last step failed: the file is ahead of what was acknowledged."""
    async with opened(tmp_path / "job") as ledger:
        await ledger.append(Paused("one"))
        await ledger.backup(tmp_path / "one")
        await ledger.append(Paused("two"))
        await ledger.backup(tmp_path / "two")
    for name in ("one", "two"):
        (tmp_path / f"{name} job").mkdir()
        (tmp_path / name).rename(paths.ledger_file(tmp_path / f"{name} job"))
    root = tmp_path / "one job"
    told: list[Committed] = []
    async with opened(root) as ledger:
        ledger.on_commit = told.extend
        paths.ledger_file(tmp_path / "two job").replace(paths.ledger_file(root))
        caught_up = await ledger.reopen()
        assert [c.event for c in caught_up] == [Paused("two")] == [c.event for c in told]
        assert ledger.state.seq == 2
        assert (await ledger.append(Paused("three")))[0].seq == 3


def test_every_error_of_the_ledger_says_what_to_do() -> None:
    with pytest.raises(RigdError) as told:
        Store(Path("/nowhere at all")).ballast.reserve()
    assert told.value.remedy
