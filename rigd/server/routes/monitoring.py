"""Figures for a monitor."""

from __future__ import annotations

from fastapi import APIRouter, Response
from fastapi.responses import PlainTextResponse

from rigd.operations.desk import Desk
from rigd.server import metrics
from rigd.server.guard import METRICS, GuardConfig
from rigd.server.roles import router
from rigd.server.sessions import Role


def reading(desk: Desk, guard: GuardConfig) -> APIRouter:
    """`/metrics`, for any session: a monitor sends its token as `Authorization: Bearer`."""
    routes = router(Role.VIEWER, prefix="")

    @routes.get(METRICS, response_class=PlainTextResponse)
    async def figures() -> Response:
        """The rig's figures in the text format of Prometheus."""
        text = metrics.text(desk.state, desk.hub.vitals, len(guard.control.present))
        return Response(text, media_type=metrics.MEDIA_TYPE)

    return routes
