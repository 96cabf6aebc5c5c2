"""Coming in: a code becomes a session cookie, by the only route of the API that needs no session. And going out."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Request, Response
from starlette.types import Scope

from rigd.server import headers as h
from rigd.server.guard import ENTER, GuardConfig
from rigd.server.problems import Problem
from rigd.server.roles import Who, router
from rigd.server.sessions import SESSION_LIFE, Role, Session
from rigd.server.wire.answers import AliveAnswer, DoneAnswer
from rigd.server.wire.people import EnteredAnswer, EnterRequest
from rigd.server.wire.requests import Nothing


def doors(config: GuardConfig) -> APIRouter:
    """`/healthz` and `/api/session`."""
    routes = APIRouter()

    @routes.get("/healthz")
    async def healthz() -> AliveAnswer:
        """That a rigd answers here, and nothing else: no session is asked for."""
        return AliveAnswer()

    @routes.post(ENTER, responses={200: {"model": EnteredAnswer}}, response_model=None)
    async def enter(body: EnterRequest, request: Request, response: Response) -> EnteredAnswer | Response:
        """Turn a code into a session, which is a cookie from then on. Each code does that once."""
        local = config.is_local(request.scope)
        address = request.client.host if request.client else ""
        secret = config.book.redeem(body.code, body.name, address, local)
        if isinstance(secret, Problem):
            return secret.response()
        session = config.book.find(secret)
        assert session is not None, "it has just been made"
        _give(response, config, request.scope, secret)
        return _entered(session, local)

    return routes


def own_session(config: GuardConfig) -> APIRouter:
    """Who am I, and letting go of it."""
    routes = router(Role.VIEWER)

    @routes.get("/session")
    async def whoami(who: Who, request: Request, response: Response) -> EnteredAnswer:
        """Who this browser is. The cookie is given once more, so that it lives on from now."""
        secret = h.cookie(request.scope["headers"], config.cookie_name(request.scope["scheme"]))
        if secret is not None:
            _give(response, config, request.scope, secret)
        return _entered(who, config.is_local(request.scope))

    @routes.post("/session/end")
    async def end(_: Nothing, who: Who) -> DoneAnswer:
        """End this browser's own session."""
        config.book.revoke(who.session_id)
        return DoneAnswer()

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


def _give(response: Response, config: GuardConfig, scope: Scope, secret: str) -> None:
    response.set_cookie(
        config.cookie_name(scope["scheme"]), secret, max_age=int(SESSION_LIFE.total_seconds()), path="/",
        httponly=True, samesite="strict", secure=scope["scheme"] == "https",
    )  # fmt: skip


def _entered(session: Session, local: bool) -> EnteredAnswer:
    return EnteredAnswer.model_validate(
        {"id": session.session_id, "name": session.name, "role": session.role.name.lower(), "local": local}
    )
