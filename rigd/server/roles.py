"""The role a route asks for, checked before its handler and before its body is parsed."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from fastapi.routing import APIRoute
from starlette.types import Scope

from rigd.server.control import Control
from rigd.server.problems import Problem
from rigd.server.sessions import Role, Session

_WANTED = {
    Role.VIEWER: "look",
    Role.OPERATOR: "work the rig",
    Role.HOST: "change how rigd is set up; that is for this machine only",
}

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


def refusal(scope: Scope, role: Role, hands_on: bool) -> Problem | None:
    """Why the session of this request may not act as `role`, with its hands on the rig; None if it may.

    What is the host's is the host's on its own machine only.
    """
    session: Session = scope["rigd.session"]
    if session.role < role or (role is Role.HOST and not scope["rigd.guard"].is_local(scope)):
        return forbidden(role)
    control: Control = scope["rigd.guard"].control
    return control.refusal(session) if hands_on else None


def forbidden(role: Role) -> Problem:
    return Problem(
        403, "role", "This session may not do that.",
        f"It takes a session that may {_WANTED[role]}.", "Ask whoever runs rigd.",
    )  # fmt: skip


def router(role: Role, hands_on: bool = False, prefix: str = "/api") -> APIRouter:
    """A router all of whose routes ask for `role`; with `hands_on` also for control of the rig."""

    class Guarded(APIRoute):
        def get_route_handler(self) -> Handler:
            inner = super().get_route_handler()

            async def checked(request: Request) -> Response:
                problem = refusal(request.scope, role, hands_on)
                return problem.response() if problem else await inner(request)

            return checked

    return APIRouter(prefix=prefix, route_class=Guarded)


def _session(request: Request) -> Session:
    session: Session = request.scope["rigd.session"]
    return session


Who = Annotated[Session, Depends(_session)]
