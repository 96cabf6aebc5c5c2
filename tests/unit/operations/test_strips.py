"""Strips in any order and either way round, their edge marks, and going back to a frame; both ways."""

from __future__ import annotations

import pytest
from tests.unit.operations.both_ways import Job

from rigd.errors import InputError, NotFound, NotReady
from rigd.model.events_later import FramesWanted
from rigd.model.plan import RollChanges
from rigd.model.words import Emulsion, Film, Tone
from rigd.operations import plans, strips
from rigd.operations.strips import Edges, GoTo, Label, Lay


async def roll_with(job: Job, cuts: tuple[int, ...] = (3, 2)) -> None:
    said = RollChanges(label="Quay 3", film_format="135", cuts=cuts)
    await job.verbs.do(plans.PLAN, plans.NewRoll(said))
    await job.verbs.open_roll(roll_id="Quay 3")


async def passed(job: Job, count: int) -> None:
    """Go past `count` frames without a picture: they are skipped."""
    for _ in range(count):
        await job.verbs.skip()


async def test_strips_come_in_any_order_with_the_places_that_were_counted(open_job: Job) -> None:
    await roll_with(open_job)
    second = await open_job.verbs.do(strips.LAY, Lay(number=2, turn=180, emulsion=Emulsion.UP, sleeve="B"))
    assert (second.strip.number, second.strip.places, second.target) == (2, 2, "s-0001#1")
    await passed(open_job, 2)
    first = await open_job.verbs.do(strips.LAY, Lay(number=1))
    assert (first.strip.number, first.strip.places, first.strip.turn, first.strip.sleeve) == (1, 3, 180, "")
    third = await open_job.verbs.do(strips.LAY, Lay())
    assert third.strip.number == 2 + 1


async def test_a_strip_that_comes_back_is_gone_on_with(open_job: Job) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1))
    await passed(open_job, 1)
    await open_job.verbs.mark(frame_id="f-00001", film=Film.UNEXPOSED)
    await open_job.verbs.do(strips.LAY, Lay(number=2))
    back = await open_job.verbs.do(strips.LAY, Lay(number=1, tone=Tone.POSITIVE))
    assert (back.strip.strip_id, back.target, back.strip.tone) == ("s-0001", "s-0001#2", Tone.POSITIVE)
    assert open_job.desk.state.strip_count == 2


async def test_a_frame_that_was_skipped_comes_first_when_its_strip_comes_back(open_job: Job) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1))
    await passed(open_job, 3)
    await open_job.verbs.do(strips.LAY, Lay(number=2))
    back = await open_job.verbs.do(strips.LAY, Lay(number=1))
    assert back.target == "s-0001#1"
    assert open_job.desk.state.frame_id == "f-00001"


async def test_a_strip_that_is_through_takes_no_further_place(open_job: Job) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1))
    await passed(open_job, 3)
    for n in (1, 2, 3):
        await open_job.verbs.mark(frame_id=f"f-0000{n}", film=Film.FOGGED)
    back = await open_job.verbs.do(strips.LAY, Lay(number=1))
    assert back.target is None
    await open_job.desk.hub.append(FramesWanted(("f-00002",), "soft", "page"))
    wanted = await open_job.verbs.do(strips.LAY, Lay(number=1))
    assert wanted.target == "s-0001#2"


async def test_after_a_recall_the_film_goes_on_where_it_stood(open_job: Job) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1))
    await passed(open_job, 3)
    await open_job.verbs.do(strips.LAY, Lay(number=2))
    await passed(open_job, 1)
    found = await open_job.verbs.do(strips.RECALL, GoTo("f-00001"))
    assert found.target == "s-0001#1"
    assert (await open_job.verbs.skip()).target == "s-0002#2"
    with pytest.raises(NotFound, match="no frame f-00077"):
        await open_job.verbs.do(strips.RECALL, GoTo("f-00077"))


async def test_marks_are_counted_along_the_film_also_on_a_turned_strip(open_job: Job) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1, turn=180))
    await passed(open_job, 3)
    told = await open_job.verbs.do(strips.EDGES, Edges(strip=1, first="00"))
    # Place 3 lies first on the film: the strip was fed from its end.
    assert told.marks == {"f-00003": "00", "f-00002": "0", "f-00001": "1"}
    assert told.backwards == ()
    frames = open_job.desk.state.rolls["r-0001"].frames
    assert [frames[f"f-0000{n}"].frame.mark for n in (1, 2, 3)] == ["1", "0", "00"]


async def test_a_strip_fed_end_for_end_is_noticed_by_its_marks(open_job: Job) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1))
    await passed(open_job, 3)
    told = await open_job.verbs.do(strips.EDGES, Edges({"f-00001": "14", "f-00002": "13A", "f-00003": "13"}))
    assert told.backwards == (1,)


@pytest.mark.parametrize(
    ("args", "error"),
    [
        (Edges(), InputError),
        (Edges({"f-00001": "a mark far too long"}), InputError),
        (Edges({"f-9": "1"}), NotFound),
        (Edges(strip=9, first="1"), NotFound),
        (Edges(strip=1, first="KN"), InputError),
        (Edges({"f-00001": "\n1"}), None),
    ],
)
async def test_marks_that_cannot_be(open_job: Job, args: Edges, error: type[Exception] | None) -> None:
    await roll_with(open_job)
    await open_job.verbs.do(strips.LAY, Lay(number=1))
    await passed(open_job, 1)
    if error is None:
        assert (await open_job.verbs.do(strips.EDGES, args)).marks == {"f-00001": "1"}
        return
    with pytest.raises(error):
        await open_job.verbs.do(strips.EDGES, args)


@pytest.mark.parametrize("args", [Lay(turn=90), Lay(places=0), Lay(number=0)])
async def test_strips_that_cannot_be(open_job: Job, args: Lay) -> None:
    await roll_with(open_job)
    with pytest.raises(InputError):
        await open_job.verbs.do(strips.LAY, args)


async def test_a_label_needs_a_roll_a_strip_and_a_camera(open_job: Job) -> None:
    with pytest.raises(NotReady, match="No roll"):
        await open_job.verbs.do(strips.LABEL, Label(whole=True))
    await roll_with(open_job)
    with pytest.raises(NotReady, match="No strip"):
        await open_job.verbs.do(strips.LABEL, Label())
    with pytest.raises(NotReady, match="No camera"):
        await open_job.verbs.do(strips.LABEL, Label(whole=True))
