"""What is told about frames: inherited from roll and job, said by range, taken over from a table; names of files."""

from __future__ import annotations

import pytest
from tests.unit.operations.both_ways import Job
from tests.unit.operations.taken import strip_of, take

from rigd.errors import InputError, NotFound
from rigd.model.metadata import AboutChanges
from rigd.model.plan import RollChanges
from rigd.operations import describing, flagging, frame_table, naming, plans
from rigd.operations.counting import OfRoll
from rigd.operations.describing import AboutFrame, Describing, FrameLine, FrameTable


async def a_roll(job: Job) -> list[str]:
    common = AboutChanges(rights="Port of Vessling", place="Vessling")
    await job.verbs.do(plans.CHANGE_JOB, plans.JobChange(about=common))
    changes = RollChanges(label="HO 12", film_format="135", stock="pan 25", about=AboutChanges(photographer="A. Lind"))
    await job.verbs.do(plans.PLAN, plans.NewRoll(changes))
    await job.verbs.open_roll(roll_id="HO 12")
    roll = job.desk.state.roll
    assert roll is not None
    return await strip_of(job.desk, roll, 1, 3)


async def told(job: Job) -> tuple[AboutFrame, ...]:
    return await job.verbs.do(describing.ABOUT, OfRoll("HO 12"))


async def test_a_frame_inherits_what_it_does_not_say(open_job: Job) -> None:
    ids = await a_roll(open_job)
    said = AboutChanges(title="North quay", place="", dates="1957-05/1957-06", keywords=("quay", "crane"))
    done = await open_job.verbs.do(describing.DESCRIBE, Describing(frames="2-", changes=said, roll="HO 12"))
    assert done.frames == tuple(ids[1:])
    first, second, _ = await told(open_job)
    assert (first.told.title, first.told.place, first.told.photographer) == (None, "Vessling", "A. Lind")
    assert (second.told.title, second.told.place, second.told.stock) == ("North quay", "", "pan 25")
    assert (second.told.rights, second.own.rights) == ("Port of Vessling", None)
    back = Describing(ids=(ids[1],), changes=AboutChanges(place=None))
    await open_job.verbs.do(describing.DESCRIBE, back)
    assert (await told(open_job))[1].told.place == "Vessling"


async def test_what_cannot_be_told_is_refused(open_job: Job) -> None:
    ids = await a_roll(open_job)
    for changes in (AboutChanges(dates="May 1957"), AboutChanges(title="a\x00b"), AboutChanges()):
        with pytest.raises(InputError):
            await open_job.verbs.do(describing.DESCRIBE, Describing(ids=(ids[0],), changes=changes))


async def test_a_table_of_frames_goes_out_and_comes_in_again(open_job: Job) -> None:
    ids = await a_roll(open_job)
    await open_job.verbs.do(describing.DESCRIBE, Describing(ids=(ids[0],), changes=AboutChanges(title="Gate; east")))
    table = frame_table.written(await told(open_job))
    assert table.splitlines()[0].startswith("frame,number,strip,place on strip,mark,title")
    edited = table.replace("Gate; east", "Gate, west".join('""')).replace(f"{ids[2]},3,1,3,,", f"{ids[2]},3,1,3,,Crane")
    lines = frame_table.read(edited)
    checked = await open_job.verbs.do(describing.DESCRIBE_ALL, FrameTable(tuple(lines), check=True))
    assert (checked.changed, checked.same) == (2, 1)
    assert (await told(open_job))[2].own.title is None, "it was only looked at"
    await open_job.verbs.do(describing.DESCRIBE_ALL, FrameTable(tuple(lines)))
    assert [one.own.title for one in await told(open_job)] == ["Gate, west", None, "Crane"]
    again = await open_job.verbs.do(describing.DESCRIBE_ALL, FrameTable(tuple(lines)))
    assert (again.changed, again.same) == (0, 3)


async def test_a_table_is_taken_over_whole_or_not_at_all(open_job: Job) -> None:
    ids = await a_roll(open_job)
    good = FrameLine(2, ids[0], AboutChanges(title="Crane"))
    for bad in (FrameLine(3, "f-09999", AboutChanges()), FrameLine(3, ids[1], AboutChanges(dates="soon"))):
        with pytest.raises(InputError, match="1 lines do not fit"):
            await open_job.verbs.do(describing.DESCRIBE_ALL, FrameTable((good, bad)))
    assert (await told(open_job))[0].own.title is None
    with pytest.raises(InputError, match="no frame"):
        frame_table.read("frame,title\n,Crane\n")


async def test_names_are_shown_before_anything_is_delivered(open_job: Job) -> None:
    ids = await a_roll(open_job)
    second = await take(open_job.desk, ids[1], keep=False)
    first = open_job.desk.state.rolls["r-0001"].frames[ids[1]].keeper[0]
    await open_job.verbs.do(flagging.KEEP, flagging.Keeping(ids[1], (first, second)))
    found = await open_job.verbs.do(naming.NAMES, naming.Naming("HO 12"))
    assert [one.name for one in found.names] == ["HO_12_001.dng", "HO_12_002a.dng", "HO_12_002b.dng", "HO_12_003.dng"]
    assert found.findings == ()
    odd = await open_job.verbs.do(naming.NAMES, naming.Naming(template="{stock}", limit=1))
    assert (len(odd.names), odd.files, [f.code for f in odd.findings]) == (1, 4, ["twice"])
    with pytest.raises(InputError):
        await open_job.verbs.do(plans.CHANGE_JOB, plans.JobChange(names="{nothing}"))
    with pytest.raises(NotFound):
        await open_job.verbs.do(naming.NAMES, naming.Naming("HO 99"))
