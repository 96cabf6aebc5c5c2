"""Planning by verbs, with and without a daemon: the ledger has it, and errors come back as what they are."""

from __future__ import annotations

import msgspec
import pytest
from msgspec import Struct
from tests.unit.operations.both_ways import Job

from rigd.errors import InputError, NotFound
from rigd.model.events import Exposed, ExposureIntended, FramePlaced, StripLoaded
from rigd.model.metadata import AboutChanges
from rigd.model.plan import RollChanges
from rigd.model.values import Exposure, Frame, Roll, Strip
from rigd.model.words import BaseType, Purpose
from rigd.operations import plans
from rigd.operations.all_verbs import ALL_VERBS
from rigd.operations.plan_table import PlanLine, read, written
from rigd.operations.plans import JobChange, NewRoll, RollChange, RollNamed, Table, TakenOver, Word
from rigd.operations.verb import Verb


async def plan(job: Job, label: str = "Quay 3") -> Roll:
    return await job.verbs.do(plans.PLAN, NewRoll(RollChanges(label=label, film_format="135", exposures=36)))


async def test_a_roll_is_planned_changed_and_dropped(open_job: Job) -> None:
    roll = await plan(open_job)
    assert (roll.expected, roll.strip_places, roll.base_type) == ((36, 39), 6, BaseType.SAFETY)
    said = RollChanges(label="Quay / 4", expected=None, about=AboutChanges(place="North quay"))
    changed = await open_job.verbs.do(plans.CHANGE, RollChange("Quay 3", said))
    assert changed == open_job.desk.state.rolls[roll.roll_id].roll
    assert (changed.label, changed.folder, changed.expected) == ("Quay / 4", "Quay_3", None)
    await open_job.verbs.do(plans.DROP, RollNamed("Quay / 4"))
    assert open_job.desk.state.rolls == {}
    again = await plan(open_job)
    assert again.roll_id == "r-0002", "an id is never given twice"


async def test_a_roll_with_frames_is_not_dropped(open_job: Job) -> None:
    roll = await plan(open_job)
    strip = Strip("s-1", roll.roll_id, 1, 6)
    await open_job.desk.hub.append(StripLoaded(strip), FramePlaced(Frame("f-1", roll.roll_id, "s-1", 1)))
    with pytest.raises(InputError, match="not empty"):
        await open_job.verbs.do(plans.DROP, RollNamed(roll.label))


async def test_a_roll_with_nothing_but_a_label_take_stays_too(open_job: Job) -> None:
    roll = await plan(open_job)
    take = ExposureIntended("t-1", None, Purpose.LABEL, 1, Exposure(0.1, "1/10"), roll.roll_id)
    await open_job.desk.hub.append(take, Exposed("t-1", 0.3, ()))
    with pytest.raises(InputError, match="not empty"):
        await open_job.verbs.do(plans.DROP, RollNamed(roll.label))


async def test_labels_are_given_once(open_job: Job) -> None:
    await plan(open_job)
    second = await plan(open_job, "Quay 4")
    with pytest.raises(InputError, match="already"):
        await plan(open_job)
    with pytest.raises(InputError, match="already"):
        await open_job.verbs.do(plans.CHANGE, RollChange(second.roll_id, RollChanges(label="Quay 3")))
    with pytest.raises(NotFound, match="no roll Quay 9"):
        await open_job.verbs.do(plans.CHANGE, RollChange("Quay 9", RollChanges()))


async def test_folders_differ_also_where_case_does_not_count(open_job: Job) -> None:
    folders = [(await plan(open_job, label)).folder for label in ("Quay", "QUAY", "quay?", "quay")]
    assert len({folder.casefold() for folder in folders}) == 4


async def test_the_word_of_the_operator_is_kept_with_its_source(open_job: Job) -> None:
    roll = await plan(open_job)
    await open_job.verbs.do(plans.HEED, Word("Quay 3", "reads SAFETY on its edge"))
    assert open_job.desk.state.rolls[roll.roll_id].heeded == "reads SAFETY on its edge (command line)"
    with pytest.raises(InputError, match="what grounds"):
        await open_job.verbs.do(plans.HEED, Word("Quay 3", " "))


async def test_a_job_keeps_what_is_told_when_it_is_opened_again(open_job: Job) -> None:
    told = JobChange(names="{roll}_{frame:03}", about=AboutChanges(rights="Port of Vessling"))
    changed = await open_job.verbs.do(plans.CHANGE_JOB, told)
    assert changed.title == "survey of the quays"
    again = await open_job.verbs.open_job(title="quays", default_base=BaseType.UNKNOWN)
    assert (again.names, again.about.rights, again.job_id) == (changed.names, "Port of Vessling", changed.job_id)


TABLE = "label,format,frames,where\nQuay 3,135,36-39,box 2\nQuay 4,120-6x6,12,box 2\n"


async def test_a_table_plans_changes_and_leaves(open_job: Job) -> None:
    lines = tuple(read(TABLE))
    checked = await open_job.verbs.do(plans.TAKE_OVER, Table(lines, check=True))
    assert checked == TakenOver(2, 0, 0)
    assert open_job.desk.state.rolls == {}
    assert await open_job.verbs.do(plans.TAKE_OVER, Table(lines)) == checked
    found = [line.roll for line in await open_job.verbs.list_rolls()]
    assert [roll.label for roll in found] == ["Quay 3", "Quay 4"]
    edited = tuple(read(written(found).replace("Quay 4", "Quay 5", 1)))
    assert await open_job.verbs.do(plans.TAKE_OVER, Table(edited)) == TakenOver(0, 1, 1)
    assert (await open_job.verbs.list_rolls())[1].roll.label == "Quay 5"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("label,format\nA,135\nA,135\n", "line 3: There is a roll 'A'"),
        ("id,label\nr-0077,A\n", "line 2: There is no roll r-0077"),
        ("label\nA\n", "line 2: A new roll needs"),
        ("label,format,dates\nA,135,May 57\nB,135,1957\n", "line 2: 'May 57' is no date"),
    ],
)
async def test_of_a_table_that_does_not_fit_nothing_is_taken(open_job: Job, text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        await open_job.verbs.do(plans.TAKE_OVER, Table(tuple(read(text))))
    assert open_job.desk.state.roll_count == 0


async def test_a_table_longer_than_a_transaction(open_job: Job) -> None:
    lines = tuple(PlanLine(n, RollChanges(label=f"Q {n}", film_format="135")) for n in range(2, 452))
    for part in (lines[:225], lines[225:]):
        await open_job.verbs.do(plans.TAKE_OVER, Table(part))
    found = await open_job.verbs.list_rolls()
    assert [line.roll.label for line in found] == [f"Q {n}" for n in range(2, 452)]
    assert len({line.roll.folder for line in found}) == 450
    await open_job.desk.hub.ledger.checkpoint()
    assert (await open_job.desk.hub.look.job()).rolls == 450


@pytest.mark.parametrize("verb", ALL_VERBS, ids=lambda verb: verb.name)
def test_each_verb_tells_what_it_is_told(verb: Verb[plans.JobChange, Struct]) -> None:
    assert verb.read(msgspec.json.encode(verb.example)) == verb.example
    assert verb.doc.split("\n\n")[0].strip().endswith(".")
    with pytest.raises(InputError, match="does not fit"):
        verb.read(b'{"no such word": 1}')
    with pytest.raises(InputError, match="does not fit"):
        verb.read(b"[")


def test_no_two_verbs_have_one_name() -> None:
    names = [verb.name for verb in ALL_VERBS]
    assert len(names) == len(set(names))
