"""Looking: state, the live line; and reading every file back."""

from __future__ import annotations

import msgspec
from fastapi import APIRouter, Response, WebSocket

from rigd.operations import checking, looking, verifying
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll
from rigd.operations.unread import count_unread
from rigd.server.guard import GuardConfig
from rigd.server.live import LiveLine
from rigd.server.problems import Problem
from rigd.server.roles import router
from rigd.server.sessions import Role
from rigd.server.wire.answers import CheckAnswer, UnreadAnswer, VerifyAnswer, answer
from rigd.server.wire.live import page_state, snapshot
from rigd.server.wire.requests import VerifyRequest

JSON = "application/json"
LINE = "/api/live"
NO_LINE = Problem(
    426, "no-line", "The live line is a WebSocket.", "This was a plain request.",
    "Open it as ws://, or wss:// over TLS.",
)  # fmt: skip


def reading(desk: Desk) -> APIRouter:
    """Routes that only look."""
    api = router(Role.VIEWER)

    @api.get("/state")
    async def state(whole: bool = False) -> Response:
        """The fold at one moment: `seq`, `state`, `tally` of the current roll, `vitals`. Of rolls that are not
        current the label only, unless the `whole` is asked for."""
        found = await looking.status(desk)
        told = found.state if whole else page_state(found.state)
        return Response(msgspec.json.encode(snapshot(told, found.vitals)), media_type=JSON)

    @api.get("/check")
    async def check() -> CheckAnswer:
        """What is connected, what is missing, and what to do about it."""
        return answer(CheckAnswer, await checking.check(desk))

    @api.get("/unread")
    async def unread() -> UnreadAnswer:
        """How many stored files have not been read back since they were stored."""
        return UnreadAnswer(files=await count_unread(desk))

    @api.get("/rolls/{roll_id:path}/whole")
    async def whole_roll(roll_id: str) -> Response:
        """One roll with all its strips, frames and takes, by its id or label."""
        return Response(msgspec.json.encode(await known_roll(desk, roll_id)), media_type=JSON)

    return api


def writing(desk: Desk) -> APIRouter:
    """Routes that leave a finding in the ledger."""
    api = router(Role.OPERATOR)

    @api.post("/verify")
    async def verify(body: VerifyRequest) -> VerifyAnswer:
        return answer(VerifyAnswer, await verifying.verify(desk, roll_id=body.roll_id))

    return api


def live_line(desk: Desk, guard: GuardConfig) -> APIRouter:
    """The WebSocket. The guard has checked Host, Origin and session; any session may look."""
    routes = APIRouter()

    @routes.websocket(LINE)
    async def live(socket: WebSocket) -> None:
        await LiveLine(socket, desk, guard).run()

    @routes.get(LINE, include_in_schema=False)
    async def no_line() -> Response:
        return NO_LINE.response()

    return routes
