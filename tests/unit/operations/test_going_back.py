"""Going back along the film and taking marks back, on a real desk without a camera. The rules are the project's own."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from tests.unit.server.serving import house

from rigd.errors import NotReady
from rigd.model.words import Film
from rigd.operations import rolls, running
from rigd.operations.desk import Desk
from rigd.operations.going_back import back, undo


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Desk]:
    """A roll with a strip of four through and the first place of the next one passed."""
    async with house(tmp_path) as home:
        await rolls.open_job(home.desk, title="survey")
        roll = await rolls.plan_roll(home.desk, label="North quay 3", film_format_name="120-6x6", strip_places=4)
        await rolls.open_roll(home.desk, roll_id=roll.roll_id)
        for _ in range(5):
            await running.skip(home.desk, source="page")
        yield home.desk


async def test_back_goes_frame_by_frame_over_strips_to_the_first(desk: Desk) -> None:
    assert desk.state.target == "s-0002#2"
    went = [(await back(desk)).target for _ in range(5)]
    assert went == ["s-0002#1", "s-0001#4", "s-0001#3", "s-0001#2", "s-0001#1"]
    with pytest.raises(NotReady, match="no frame before"):
        await back(desk)


async def test_passing_over_goes_on_where_the_film_was(desk: Desk) -> None:
    await back(desk)
    await back(desk)
    assert (await running.skip(desk, source="page")).target == "s-0002#2"


async def test_marks_are_taken_back_one_by_one(desk: Desk) -> None:
    frames = desk.state.rolls["r-0001"].frames
    for film in (Film.UNEXPOSED, Film.FOGGED):
        await rolls.mark(desk, frame_id="f-00002", film=film, by="page")
    assert await undo(desk, by="page") == "f-00002"
    frames = desk.state.rolls["r-0001"].frames
    assert frames["f-00002"].film is Film.UNEXPOSED
    await undo(desk, by="page")
    assert desk.state.rolls["r-0001"].frames["f-00002"].film is None
    with pytest.raises(NotReady, match="no mark"):
        await undo(desk, by="page")


async def test_without_a_roll_there_is_no_way_back(tmp_path: Path) -> None:
    async with house(tmp_path) as home:
        with pytest.raises(NotReady, match="No roll"):
            await back(home.desk)
        with pytest.raises(NotReady, match="no mark"):
            await undo(home.desk, by="page")
