"""Files that belong to no take: listed, given to their frame, or said to be of no use."""

from __future__ import annotations

import pytest
from tests.unit.operations.both_ways import Job
from tests.unit.operations.taken import raw_file, strip_of

from rigd.errors import InputError, NotFound, StoreError
from rigd.model.events import Unclaimed
from rigd.model.plan import RollChanges
from rigd.model.words import Stage
from rigd.operations import claiming, plans, verifying
from rigd.operations.claiming import OfFrame, OfNoUse
from rigd.operations.verb import Nothing


async def frames(job: Job) -> list[str]:
    await job.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="HO 12", film_format="135")))
    await job.verbs.open_roll(roll_id="HO 12")
    roll = job.desk.state.roll
    assert roll is not None
    return await strip_of(job.desk, roll, 1, 1, places=3) + [await _open_frame(job)]


async def _open_frame(job: Job) -> str:
    await job.verbs.skip()
    return "f-00002"


async def test_what_lies_there_is_listed_whether_or_not_it_was_written_down(open_job: Job) -> None:
    root = open_job.desk.root
    assert await open_job.verbs.do(claiming.UNCLAIMED, Nothing()) == ()
    known, strange = raw_file(root), raw_file(root, "b.DNG")
    (root / "unclaimed" / "why.txt").write_text("RIG_0099.DNG: it came by itself\n")
    await open_job.desk.hub.append(Unclaimed(known, "RIG_0099.DNG", 9, "It arrived without a trigger."))
    found = await open_job.verbs.do(claiming.UNCLAIMED, Nothing())
    assert [(s.path, bool(s.why)) for s in found] == [(known, True), (strange, True)]


async def test_a_file_becomes_a_take_of_its_frame(open_job: Job) -> None:
    taken, empty = await frames(open_job)
    root = open_job.desk.root
    for path, frame_id in ((raw_file(root, "a.DNG"), empty), (raw_file(root, "b.DNG"), taken)):
        content = (root / path).read_bytes()
        await open_job.desk.hub.append(Unclaimed(path, path, 9, "why"))
        done = await open_job.verbs.do(claiming.ASSIGN, OfFrame(path, frame_id))
        assert not (root / path).exists()
        assert (root / done.path).read_bytes() == content
    state = open_job.desk.state
    roll = state.rolls["r-0001"]
    assert state.unclaimed == 0
    assert len(roll.frames[empty].keeper) == 1, "the frame had none"
    assert roll.frames[taken].keeper == (roll.frames[taken].takes[0],), "the frame had one"
    take = roll.takes[roll.frames[empty].keeper[0]]
    assert take.stage is Stage.STORED
    assert (take.want.shutter_s, take.want.f_number, take.want.iso) == (pytest.approx(1 / 30), 8.0, 100)
    assert (await verifying.verify(open_job.desk)).bad == 0


async def test_a_file_of_that_name_is_never_replaced(open_job: Job) -> None:
    _, empty = await frames(open_job)
    root = open_job.desk.root
    (root / "HO_12" / "HO_12-001-002-01.dng").write_bytes(b"somebody else's")
    path = raw_file(root)
    with pytest.raises(StoreError, match="another file"):
        await open_job.verbs.do(claiming.ASSIGN, OfFrame(path, empty))
    assert (root / path).exists()
    assert (root / "HO_12" / "HO_12-001-002-01.dng").read_bytes() == b"somebody else's"


async def test_what_was_begun_before_a_crash_is_gone_on_with(open_job: Job) -> None:
    """The file has both names, and the ledger knows of neither: the same command again brings it to its end."""
    _, empty = await frames(open_job)
    root = open_job.desk.root
    path = raw_file(root)
    open_job.desk.store.adopt(path, "HO_12", "HO_12-001-002-01.dng")
    done = await open_job.verbs.do(claiming.ASSIGN, OfFrame(path, empty))
    assert done.path == "HO_12/HO_12-001-002-01.dng"
    assert not (root / path).exists()


async def test_a_file_of_no_use_stays_and_is_accounted_for(open_job: Job) -> None:
    path = raw_file(open_job.desk.root)
    await open_job.verbs.do(claiming.DISMISS, OfNoUse(path, "a test"))
    assert open_job.desk.state.unclaimed == 0
    (found,) = await open_job.verbs.do(claiming.UNCLAIMED, Nothing())
    assert (found.path, found.dismissed) == (path, "a test")


async def test_what_is_no_picture_or_not_there_is_refused(open_job: Job) -> None:
    _, empty = await frames(open_job)
    (open_job.desk.root / "unclaimed").mkdir()
    (open_job.desk.root / "unclaimed" / "torn.DNG").write_bytes(b"II*\x00 torn")
    with pytest.raises(InputError, match="cannot be a take"):
        await open_job.verbs.do(claiming.ASSIGN, OfFrame("unclaimed/torn.DNG", empty))
    for path in ("unclaimed/none.DNG", "HO_12/../ledger.sqlite", "ledger.sqlite"):
        with pytest.raises(NotFound):
            await open_job.verbs.do(claiming.ASSIGN, OfFrame(path, empty))
    with pytest.raises(InputError, match="no unclaimed file"):
        open_job.desk.store.forget_stray("ledger.sqlite")
