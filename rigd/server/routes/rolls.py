"""The paper work: job, set-up, rolls, strips, marks."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from rigd.operations import going_back, rolls
from rigd.operations.desk import Desk
from rigd.server.roles import Who, router
from rigd.server.sessions import Role
from rigd.server.wire.answers import (
    DoneAnswer,
    JobAnswer,
    RollAnswer,
    RollLineAnswer,
    SetupAnswer,
    StripAnswer,
    TallyAnswer,
    answer,
)
from rigd.server.wire.requests import JobRequest, MarkRequest, Nothing, RollRequest, SetupRequest, StripRequest


def reading(desk: Desk) -> APIRouter:
    """Routes that only look."""
    api = router(Role.VIEWER)

    @api.get("/rolls")
    async def list_rolls(
        after: Annotated[int, Query(ge=0, le=1_000_000)] = 0, limit: Annotated[int | None, Query(ge=1, le=1000)] = None
    ) -> list[RollLineAnswer]:
        """Rolls in the order of planning: all, or a page of `limit` rolls after the place `after`."""
        return [answer(RollLineAnswer, line) for line in await rolls.list_rolls(desk, after=after, limit=limit)]

    @api.get("/rolls/{roll_id:path}/tally")
    async def tally(roll_id: str) -> TallyAnswer:
        return answer(TallyAnswer, await rolls.tally(desk, roll_id=roll_id))

    @api.get("/tally")
    async def current_tally() -> TallyAnswer:
        """The tally of the current roll."""
        return answer(TallyAnswer, await rolls.tally(desk))

    return api


def writing(desk: Desk) -> APIRouter:
    """Paper work: any operator may do it, whoever has control of the rig."""
    api = router(Role.OPERATOR)

    @api.post("/job")
    async def open_job(body: JobRequest) -> JobAnswer:
        found = await rolls.open_job(desk, title=body.title, default_base=body.default_base)
        return answer(JobAnswer, found)

    @api.post("/setup")
    async def describe_setup(body: SetupRequest) -> SetupAnswer:
        fields = body.model_dump(exclude_unset=True)
        return answer(SetupAnswer, await rolls.describe_setup(desk, **fields))

    @api.post("/rolls", status_code=201)
    async def plan_roll(body: RollRequest) -> RollAnswer:
        fields = dict(body)
        found = await rolls.plan_roll(desk, film_format_name=fields.pop("film_format"), **fields)
        return answer(RollAnswer, found)

    @api.post("/mark")
    async def mark(body: MarkRequest, who: Who) -> DoneAnswer:
        await rolls.mark(desk, frame_id=body.frame_id, film=body.film, by=who.source)
        return DoneAnswer()

    @api.post("/undo")
    async def undo(_: Nothing, who: Who) -> DoneAnswer:
        """Take back the last mark; the one before it counts, or what rigd found."""
        await going_back.undo(desk, by=who.source)
        return DoneAnswer()

    return api


def hands_on(desk: Desk) -> APIRouter:
    """What changes the film in hand: for the one who works the rig."""
    api = router(Role.OPERATOR, hands_on=True)

    @api.post("/rolls/{roll_id:path}/open")
    async def open_roll(roll_id: str, _: Nothing) -> RollAnswer:
        return answer(RollAnswer, await rolls.open_roll(desk, roll_id=roll_id))

    @api.post("/rolls/{roll_id:path}/close")
    async def close_roll(roll_id: str, _: Nothing) -> TallyAnswer:
        return answer(TallyAnswer, await rolls.close_roll(desk, roll_id=roll_id))

    @api.post("/strips", status_code=201)
    async def load_strip(body: StripRequest) -> StripAnswer:
        found = await rolls.load_strip(desk, places=body.places, emulsion=body.emulsion, turn=body.turn)
        return answer(StripAnswer, found)

    return api
