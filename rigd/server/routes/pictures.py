"""Pictures of takes: small ones, pieces and whole ones at full size; and contact sheets of rolls."""

from __future__ import annotations

import asyncio
from typing import Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Response

from rigd.model.words import Tone
from rigd.operations import looking, positives
from rigd.operations.desk import Desk
from rigd.operations.details import Details
from rigd.operations.full_size import FullSize
from rigd.operations.sheets import SheetOf, sheet
from rigd.server.roles import router
from rigd.server.sessions import Role
from rigd.server.wire.answers import ChannelAnswer, FullAnswer, HistogramAnswer

_JPEG: dict[str, Any] = {"content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}
Spot = Literal["middle", "top-left", "top-right", "bottom-right", "bottom-left"]
# The operation counts from 12 stops under saturation, what a 14-bit file can hold, up to saturation.
STOPS = 12.0

_PDF: dict[str, Any] = {"content": {"application/pdf": {"schema": {"type": "string", "format": "binary"}}}}


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

    @api.get("/takes/{take_id}/small", response_class=Response, responses={200: _JPEG})
    async def small(take_id: str) -> Response:
        """A positive as one among many: cut to its picture, 420 pixels at most."""
        async with one_at_a_time:
            found = await positives.small(desk, take_id)
        return Response(found, media_type="image/jpeg")

    @api.get("/takes/{take_id}/histogram")
    async def histogram(take_id: str) -> HistogramAnswer:
        """What lies inside the picture of a take, counted over stops under saturation; the whole sensor where none was
        found."""
        async with one_at_a_time:
            counts = await looking.histogram(desk, take_id=take_id)
        channels = [ChannelAnswer(name=name, counts=list(c)) for name, c in zip("RGB", counts, strict=True)]
        return HistogramAnswer(from_stops=-STOPS, step=STOPS / len(counts[0]), channels=channels)

    return api


def full_sizes(desk: Desk) -> APIRouter:
    """Routes to whole takes at full size."""
    api = router(Role.VIEWER)
    whole = FullSize(desk)

    @api.get("/takes/{take_id}/full")
    async def full(take_id: str) -> FullAnswer:
        """How large a take is at full size, and its tiles."""
        tiles = await whole.of(take_id)
        return FullAnswer(width=tiles.width, height=tiles.height, tile=tiles.size)

    @api.get("/takes/{take_id}/full/{row}/{column}", response_class=Response, responses={200: _JPEG})
    async def tile(take_id: str, row: int, column: int) -> Response:
        """One tile of a take at full size."""
        return Response(await whole.tile(take_id, row, column), media_type="image/jpeg")

    return api


def sheets(desk: Desk) -> APIRouter:
    """Contact sheets as files to keep."""
    api = router(Role.VIEWER)

    @api.get("/rolls/{roll_id:path}/sheet", response_class=Response, responses={200: _PDF})
    async def sheet_of(roll_id: str, paper: Literal["A4", "Letter"] = "A4") -> Response:
        """The contact sheet of a roll as a PDF."""
        found = await sheet(desk, SheetOf(roll_id, paper), "page")
        # RFC 6266 and RFC 8187: the name in UTF-8, for browsers that all know it by now.
        name = f"attachment; filename*=UTF-8''{quote(found.name)}.pdf"
        return Response(found.files[0], media_type="application/pdf", headers={"Content-Disposition": name})

    return api
