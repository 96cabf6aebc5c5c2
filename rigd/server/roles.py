"""The role a route asks for, checked before its handler and before its body is parsed."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from ipaddress import ip_address
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from fastapi.routing import APIRoute

from rigd.server.problems import Problem
from rigd.server.sessions import Role, Session

_WANTED = {
    Role.VIEWER: "look",
    Role.OPERATOR: "work the rig",
    Role.HOST: "change how rigd is set up; that is for this machine only",
}

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


def may(session: Session, role: Role, address: str) -> bool:
    """True if `session` may act as `role` from that address: what is the host's is the host's on loopback only."""
    return session.role >= role and (role < Role.HOST or ip_address(address).is_loopback)


def forbidden(role: Role) -> Problem:
    return Problem(
        403, "role", "This session may not do that.",
        f"It takes a session that may {_WANTED[role]}.", "Ask whoever runs rigd.",
    )  # fmt: skip


def router(role: Role) -> APIRouter:
    """A router all of whose routes ask for `role`."""

    class Guarded(APIRoute):
        def get_route_handler(self) -> Handler:
            inner = super().get_route_handler()

            async def checked(request: Request) -> Response:
                address = request.client.host if request.client else ""
                session: Session = request.scope["rigd.session"]
                return await inner(request) if may(session, role, address) else forbidden(role).response()

            return checked

    return APIRouter(prefix="/api", route_class=Guarded)


def _session(request: Request) -> Session:
    session: Session = request.scope["rigd.session"]
    return session


Who = Annotated[Session, Depends(_session)]
