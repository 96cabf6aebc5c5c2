"""Coming in: the printed link's code becomes a session cookie. The only route of the API without a session."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Response

from rigd.server.guard import ENTER, GuardConfig
from rigd.server.problems import Problem
from rigd.server.roles import Who, router
from rigd.server.sessions import SESSION_LIFE, Role
from rigd.server.wire.answers import AliveAnswer, DoneAnswer, EnteredAnswer
from rigd.server.wire.requests import EnterRequest, Nothing

_BAD_CODE = Problem(
    403, "bad-code", "This link has been used, or is too old.",
    "A link lets one browser in, once.", "Take a new link: restart rigd, or ask for one in the terminal.",
)  # fmt: skip


def doors(config: GuardConfig) -> APIRouter:
    """`/healthz` and `/api/session`."""
    routes = APIRouter()

    @routes.get("/healthz")
    async def healthz() -> AliveAnswer:
        return AliveAnswer()

    @routes.post(ENTER, response_model=None)
    async def enter(body: EnterRequest, response: Response) -> EnteredAnswer | Response:
        secret = config.book.redeem(body.code)
        session = config.book.find(secret) if secret else None
        if secret is None or session is None:
            return _BAD_CODE.response()
        response.set_cookie(
            config.cookie_name, secret, max_age=int(SESSION_LIFE.total_seconds()), path="/", httponly=True,
            samesite="strict",
        )  # fmt: skip
        return EnteredAnswer(role=session.role.name.lower())

    return routes


def own_session() -> APIRouter:
    """Who am I?"""
    routes = router(Role.VIEWER)

    @routes.get("/session")
    async def whoami(who: Who) -> EnteredAnswer:
        return EnteredAnswer(role=who.role.name.lower())

    return routes


def leaving(quit_daemon: Callable[[], None]) -> APIRouter:
    """What the host alone may do."""
    routes = router(Role.HOST)

    @routes.post("/quit")
    async def leave(_: Nothing) -> DoneAnswer:
        """End the daemon, after the step in hand."""
        quit_daemon()
        return DoneAnswer()

    return routes
