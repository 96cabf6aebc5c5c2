"""Looking: state, pictures of takes, the live line; and reading every file back."""

from __future__ import annotations

import asyncio
from typing import Any, Literal

import msgspec
from fastapi import APIRouter, Response, WebSocket

from rigd.model.words import Tone
from rigd.operations import checking, looking, verifying
from rigd.operations.desk import Desk
from rigd.operations.details import Details
from rigd.operations.finding import known_roll
from rigd.operations.unread import count_unread
from rigd.server.guard import GuardConfig
from rigd.server.live import LiveLine
from rigd.server.roles import router
from rigd.server.sessions import Role
from rigd.server.wire.answers import ChannelAnswer, CheckAnswer, HistogramAnswer, UnreadAnswer, VerifyAnswer, answer
from rigd.server.wire.live import page_state, snapshot_fields
from rigd.server.wire.requests import VerifyRequest

JSON = "application/json"
_JPEG: dict[str, Any] = {"content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}
Spot = Literal["middle", "top-left", "top-right", "bottom-right", "bottom-left"]
# The operation counts from 12 stops under saturation, what a 14-bit file can hold, up to saturation.
STOPS = 12.0


def reading(desk: Desk) -> APIRouter:
    """Routes that only look."""
    api = router(Role.VIEWER)

    @api.get("/state")
    async def state(whole: bool = False) -> Response:
        """The fold at one moment: `seq`, `state`, `tally` of the current roll, `vitals`. Of rolls that are not
        current the label only, unless the `whole` is asked for."""
        found = await looking.status(desk)
        told = found.state if whole else page_state(found.state)
        return Response(msgspec.json.encode(snapshot_fields(told, found.vitals)), media_type=JSON)

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


def pictures(desk: Desk) -> APIRouter:
    """Routes to the pictures of takes."""
    api = router(Role.VIEWER)
    # A page asks for three things of a new take at once, and so does every other page: its file is decoded once.
    one_at_a_time = asyncio.Lock()

    @api.get("/takes/{take_id}/picture", response_class=Response, responses={200: _JPEG})
    async def picture(take_id: str, tone: Tone = Tone.POSITIVE) -> Response:
        """A small JPEG of a take, as it lies on the light table or as a positive."""
        async with one_at_a_time:
            found = await looking.picture(desk, take_id=take_id, tone=tone)
        return Response(found, media_type="image/jpeg")

    pieces = Details(desk)

    @api.get("/takes/{take_id}/detail/{spot}", response_class=Response, responses={200: _JPEG})
    async def detail(take_id: str, spot: Spot) -> Response:
        """A piece of a take at full size, 960 by 640 pixels of the sensor: to see whether it is sharp."""
        async with one_at_a_time:
            found = await pieces.of(take_id, spot)
        return Response(found, media_type="image/jpeg")

    @api.get("/takes/{take_id}/histogram")
    async def histogram(take_id: str) -> HistogramAnswer:
        """The whole frame of a take, counted over stops under saturation."""
        async with one_at_a_time:
            counts = await looking.histogram(desk, take_id=take_id)
        channels = [ChannelAnswer(name=name, counts=list(c)) for name, c in zip("RGB", counts, strict=True)]
        return HistogramAnswer(from_stops=-STOPS, step=STOPS / len(counts[0]), channels=channels)

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

    @routes.websocket("/api/live")
    async def live(socket: WebSocket) -> None:
        await LiveLine(socket, desk, guard).run()

    return routes
