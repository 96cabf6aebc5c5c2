"""The second copy as verbs: told where, made, read back; gone on with after a pulled disk; it waits for no take."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from tests.unit.operations.both_ways import Job
from tests.unit.operations.taken import files, strip_of

from rigd.engine.copying import Copying
from rigd.errors import CopyGone, InputError, NotReady
from rigd.hub import Hub, Vitals
from rigd.model.plan import RollChanges
from rigd.operations import copies, plans
from rigd.operations.copies import CopyTo
from rigd.operations.rebuilding import rebuild
from rigd.operations.verb import Nothing
from rigd.store.second import MARK


async def a_strip(job: Job, number: int = 1) -> None:
    if job.desk.state.roll is None:
        await job.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="HO 12", film_format="135")))
        await job.verbs.open_roll(roll_id="HO 12")
    assert job.desk.state.roll is not None
    await strip_of(job.desk, job.desk.state.roll, number, 2)


async def test_the_job_is_copied_and_goes_on_to_be(open_job: Job, tmp_path_factory: pytest.TempPathFactory) -> None:
    to = tmp_path_factory.mktemp("other") / "copy"
    await a_strip(open_job)
    with pytest.raises(NotReady):
        await open_job.verbs.do(copies.NOW, Nothing())
    with pytest.raises(InputError, match="same disk"):
        await open_job.verbs.do(copies.COPY_TO, CopyTo(str(to)))
    begun = await open_job.verbs.do(copies.COPY_TO, CopyTo(str(to), same_disk=True))
    assert (begun.copied, begun.files) == (0, 2)
    done = await open_job.verbs.do(copies.NOW, Nothing())
    assert (done.copied, done.files) == (2, 2)
    await a_strip(open_job, 2)
    assert (await open_job.verbs.do(copies.LOOK, Nothing())).copied == 2
    await open_job.verbs.do(copies.NOW, Nothing())
    root = open_job.desk.root
    assert files(to) == files(root)
    papers = {p.relative_to(root).as_posix() for p in root.rglob("*.xmp")} | {"HO_12/roll.json", "job.json"}
    assert all((to / path).is_file() for path in papers)
    rebuilt = await rebuild(to, open_job.desk.clock)
    assert (rebuilt.rolls, rebuilt.frames, rebuilt.missing) == (1, 4, ()), "the second copy is a whole job"
    assert (await open_job.verbs.do(copies.VERIFY, Nothing())).bad == ()
    next(to.rglob("*.dng")).write_bytes(b"x")
    assert len((await open_job.verbs.do(copies.VERIFY, Nothing())).bad) == 1


async def test_a_pulled_disk_stops_only_the_copies(open_job: Job, tmp_path_factory: pytest.TempPathFactory) -> None:
    to = tmp_path_factory.mktemp("other") / "copy"
    await a_strip(open_job)
    await open_job.verbs.do(copies.COPY_TO, CopyTo(str(to), same_disk=True))
    (to / MARK).rename(to.parent / "kept")
    with pytest.raises(CopyGone, match="not there"):
        await open_job.verbs.do(copies.NOW, Nothing())
    await a_strip(open_job, 2)
    (to.parent / "kept").rename(to / MARK)
    assert (await open_job.verbs.do(copies.NOW, Nothing())).copied == 4


async def until(hub: Hub, fits: object) -> Vitals:
    """The vitals as soon as they are so."""
    listener = hub.subscribe()
    try:
        if fits(hub.vitals):  # type: ignore[operator]
            return hub.vitals
        async for item in listener:
            if isinstance(item, Vitals) and fits(item):  # type: ignore[operator]
                return item
    finally:
        hub.leave(listener)
    raise AssertionError("the hub closed")


async def test_beside_the_rig_it_waits_while_a_take_is_in_hand(
    open_job: Job, tmp_path_factory: pytest.TempPathFactory
) -> None:
    to = tmp_path_factory.mktemp("other") / "copy"
    desk, idle = open_job.desk, [False]
    copying = Copying(desk.hub, desk.store, desk.clock, lambda: idle[0])
    await a_strip(open_job)
    await open_job.verbs.do(copies.COPY_TO, CopyTo(str(to), same_disk=True))
    async with asyncio.TaskGroup() as group:
        running = group.create_task(copying.run())
        async with asyncio.timeout(20):
            assert (await until(desk.hub, lambda v: v.to_copy == 2)).copied == 0
            await asyncio.to_thread(_spin)
            assert not files(to), "a take is in hand"
            idle[0] = True
            await until(desk.hub, lambda v: v.copied == 2)
            (to / MARK).unlink()
            await a_strip(open_job, 2)
            assert "not there" in (await until(desk.hub, lambda v: bool(v.copy_trouble))).copy_trouble
        running.cancel()
    assert len(files(to)) == 2


def _spin() -> None:
    """Time for a copier that does not wait to make its mistake."""
    for _ in range(200):
        Path().resolve()
