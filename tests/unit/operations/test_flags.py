"""What is said of frames: marks and their undoing, accepted, wanted again, in doubt; the list of what is to be seen."""

from __future__ import annotations

import pytest
from tests.unit.operations.both_ways import Job
from tests.unit.operations.taken import strip_of, take

from rigd.errors import InputError, NotFound
from rigd.model.plan import RollChanges
from rigd.model.state import FrameState
from rigd.model.tally import tally
from rigd.model.words import Film, Quality
from rigd.operations import flagging, plans
from rigd.operations.flagging import Checked, Keeping, Listing, Marking, OneFrame, Some, Wanting


async def three_strips(job: Job) -> list[str]:
    said = RollChanges(label="HO 12", film_format="135", where="shelf 4")
    await job.verbs.do(plans.PLAN, plans.NewRoll(said))
    await job.verbs.open_roll(roll_id="HO 12")
    roll = job.desk.state.roll
    assert roll is not None
    return [frame for number in (1, 2, 3) for frame in await strip_of(job.desk, roll, number, 2)]


def frame(job: Job, frame_id: str) -> FrameState:
    return job.desk.state.rolls["r-0001"].frames[frame_id]


async def test_marks_of_a_range_are_undone_one_by_one(open_job: Job) -> None:
    ids = await three_strips(open_job)
    said = await open_job.verbs.do(flagging.MARK, Marking(strips="2-", film=Film.FOGGED))
    assert list(said.frames) == ids[2:]
    await open_job.verbs.mark(frame_id=ids[3], film=Film.UNEXPOSED)
    assert frame(open_job, ids[3]).film is Film.UNEXPOSED
    assert (await open_job.verbs.do(flagging.UNDO, OneFrame())).frames == (ids[3],), "the frame marked last"
    assert frame(open_job, ids[3]).film is Film.FOGGED
    await open_job.verbs.do(flagging.UNDO, OneFrame(ids[3]))
    assert frame(open_job, ids[3]).film is Film.PICTURE, "what rigd found"
    with pytest.raises(NotFound, match="no mark"):
        await open_job.verbs.do(flagging.UNDO, OneFrame(ids[3]))


async def test_frames_by_number_by_id_and_all(open_job: Job) -> None:
    ids = await three_strips(open_job)
    assert (await open_job.verbs.do(flagging.ACCEPT, Some(frames="1,5-"))).frames == (ids[0], ids[4], ids[5])
    assert (await open_job.verbs.do(flagging.ACCEPT, Some(ids=(ids[2],)))).frames == (ids[2],)
    assert (await open_job.verbs.do(flagging.ACCEPT, Some(roll="HO 12"))).frames == tuple(ids)
    unfit = ((Some(), InputError), (Some(strips="1", frames="1"), InputError), (Some(ids=("f-9",)), NotFound))
    for args, error in unfit:
        with pytest.raises(error):
            await open_job.verbs.do(flagging.ACCEPT, args)


async def test_wanted_frames_leave_the_list_when_they_are_taken(open_job: Job) -> None:
    ids = await three_strips(open_job)
    await open_job.verbs.do(flagging.WANT, Wanting(frames="2-3", why="soft at 100 %"))
    found = await open_job.verbs.do(flagging.TODO, Listing())
    assert [(one.frame_id, one.kind, one.why, one.where) for one in found] == [
        (ids[1], "again", "soft at 100 %", "shelf 4"), (ids[2], "again", "soft at 100 %", "shelf 4"),
    ]  # fmt: skip
    await take(open_job.desk, ids[1])
    await open_job.verbs.do(flagging.WANT, Wanting(ids=(ids[2],), why=""))
    assert await open_job.verbs.do(flagging.TODO, Listing()) == ()
    assert tally(open_job.desk.state.rolls["r-0001"]).retaken == 1


async def test_a_doubtful_keeper_is_listed_until_it_is_accepted(open_job: Job) -> None:
    ids = await three_strips(open_job)
    await take(open_job.desk, ids[4], quality=Quality.SOFT)
    (found,) = await open_job.verbs.do(flagging.TODO, Listing("HO 12", "suspect"))
    assert (found.frame_id, found.number, found.why) == (ids[4], 5, "it is soft")
    await open_job.verbs.do(flagging.ACCEPT, Some(ids=(ids[4],)))
    assert await open_job.verbs.do(flagging.TODO, Listing()) == ()
    with pytest.raises(InputError, match="no list"):
        await open_job.verbs.do(flagging.TODO, Listing(kind="odd"))


async def test_another_take_is_kept_and_all_of_them_stay(open_job: Job) -> None:
    ids = await three_strips(open_job)
    second = await take(open_job.desk, ids[0], keep=False)
    first = frame(open_job, ids[0]).keeper[0]
    await open_job.verbs.do(flagging.KEEP, Keeping(ids[0], (second,)))
    assert (frame(open_job, ids[0]).keeper, frame(open_job, ids[0]).takes) == ((second,), (first, second))
    await open_job.verbs.do(flagging.KEEP, Keeping(ids[0], (first, second)))
    assert tally(open_job.desk.state.rolls["r-0001"]).retaken == 0, "two exposures of one keeper"
    for takes in ((), ("t-000999",)):
        with pytest.raises(NotFound):
            await open_job.verbs.do(flagging.KEEP, Keeping(ids[0], takes))


async def test_a_drift_puts_in_doubt_what_was_taken_since_the_last_good_look(open_job: Job) -> None:
    ids = await three_strips(open_job)
    await open_job.verbs.do(flagging.CHECKED, Checked(True, "focus"))
    roll = open_job.desk.state.roll
    assert roll is not None
    later = await strip_of(open_job.desk, roll, 4, 2)
    await take(open_job.desk, ids[0])
    found = await open_job.verbs.do(flagging.CHECKED, Checked(False, "focus", "moved by 60 um"))
    assert set(found.frames) == {ids[0], *later}
    assert tally(open_job.desk.state.rolls["r-0001"]).suspect == 3
    assert "moved by 60 um" in frame(open_job, later[0]).doubt
    again = await open_job.verbs.do(flagging.CHECKED, Checked(False, "focus", "moved by 60 um"))
    assert again.frames == (), "they are in doubt already"
