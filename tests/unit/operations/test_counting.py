"""Counting by verbs, with and without a daemon."""

from __future__ import annotations

import pytest
from tests.unit.operations.both_ways import Job

from rigd.errors import NotFound, NotReady
from rigd.model.plan import RollChanges
from rigd.model.reconcile import account_roll
from rigd.model.tally import tally
from rigd.model.words import Film
from rigd.operations import counting, plans, strips
from rigd.operations.counting import OfRoll, OfStrip
from rigd.operations.verb import Nothing


async def two_strips(job: Job) -> None:
    said = RollChanges(label="HO 12", film_format="120-6x6", expected=(4, 4), strip_places=2)
    await job.verbs.do(plans.PLAN, plans.NewRoll(said))
    await job.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="Box 3", film_format="mount")))
    await job.verbs.open_roll(roll_id="HO 12")
    await job.verbs.do(strips.LAY, strips.Lay(number=2, turn=180))
    for _ in range(2):
        await job.verbs.skip()
    await job.verbs.do(strips.LAY, strips.Lay(number=1, turn=0))
    for _ in range(2):
        await job.verbs.skip()
    for frame in ("f-00001", "f-00003"):
        await job.verbs.mark(frame_id=frame, film=Film.UNEXPOSED)


async def test_a_roll_is_counted_by_strip_and_by_frame_in_the_order_of_the_film(open_job: Job) -> None:
    await two_strips(open_job)
    found = await open_job.verbs.do(counting.ROLL, OfRoll("HO 12"))
    assert [(s.strip.number, s.tally.unexposed, s.tally.missing) for s in found.strips] == [(1, 1, 1), (2, 1, 1)]
    # Strip 1 lies first; strip 2 was turned, so its second place comes before its first.
    assert [f.frame_id for f in found.frames] == ["f-00003", "f-00004", "f-00002", "f-00001"]
    assert [(f.number, f.kind) for f in found.frames][:2] == [(1, "unexposed"), (2, "skipped")]
    assert found.tally == tally(open_job.desk.state.rolls["r-0001"])
    assert found.cadence_s is None


async def test_the_job_is_counted_with_what_is_to_come(open_job: Job) -> None:
    await two_strips(open_job)
    found = await open_job.verbs.do(counting.JOB, Nothing())
    assert (found.rolls, found.closed, found.unknown, found.tally.unexposed) == (2, 0, 1, 2)
    assert (found.left.frames, found.left.unknown, found.left.seconds) == (2, 1, 30.0)


async def test_accounts_of_strip_roll_and_job(open_job: Job) -> None:
    await two_strips(open_job)
    roll = open_job.desk.state.rolls["r-0001"]
    assert await open_job.verbs.do(counting.ACCOUNT, OfStrip()) == account_roll(roll)
    strip = await open_job.verbs.do(counting.ACCOUNT, OfStrip("HO 12", 2))
    assert strip.sentence == "1 blank = 1, but the strip has 2."
    job = await open_job.verbs.do(counting.WHOLE, Nothing())
    assert (job.of, job.even) == ("survey of the quays", False)
    with pytest.raises(NotFound, match="no strip 9"):
        await open_job.verbs.do(counting.ACCOUNT, OfStrip("HO 12", 9))


async def test_without_an_open_roll_one_must_be_named(open_job: Job) -> None:
    with pytest.raises(NotReady, match="No roll is open"):
        await open_job.verbs.do(counting.ROLL, OfRoll())
