"""Routes for verbs that are declared as values: one each, described in OpenAPI from the types of what they are told."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec
from fastapi import APIRouter, Request, Response

from rigd.operations.desk import Desk
from rigd.operations.verb import Verb
from rigd.server.description.schemas import Schemas
from rigd.server.roles import Who, router
from rigd.server.sessions import Role

JSON = "application/json"
# Verbs that change the film in hand are for the one who works the rig.
HANDS_ON = frozenset({"strips/lay", "strips/label", "frames/recall", "clear-stop", "feed"})


def routers(desk: Desk, verbs: Iterable[Verb[Any, Any]], schemas: Schemas) -> list[APIRouter]:
    """One router a role, and one for the hand at the rig. Verbs that read are asked by GET, the others by POST."""
    found = {(role, False): router(role) for role in Role}
    found[Role.OPERATOR, True] = router(Role.OPERATOR, hands_on=True)
    for verb in verbs:
        role = Role.HOST if verb.host else Role.VIEWER if verb.reads else Role.OPERATOR
        _add(found[role, verb.name in HANDS_ON], desk, verb, _described(verb, schemas))
    return list(found.values())


def _add(api: APIRouter, desk: Desk, verb: Verb[Any, Any], described: dict[str, Any]) -> None:
    async def by_query(request: Request, who: Who) -> Response:
        query = {name: request.query_params.getlist(name) for name in request.query_params}
        return await _done(verb.read_query(query), who.source)

    async def by_body(request: Request, who: Who) -> Response:
        return await _done(verb.read(await request.body()), who.source)

    async def _done(args: Any, source: str) -> Response:
        return Response(msgspec.json.encode(await verb.run(desk, args, source)), media_type=JSON)

    api.add_api_route(
        f"/{verb.name}", by_query if verb.reads else by_body, methods=["GET" if verb.reads else "POST"],
        name=verb.name, summary=verb.doc.splitlines()[0], description=verb.doc, openapi_extra=described,
    )  # fmt: skip


def _described(verb: Verb[Any, Any], schemas: Schemas) -> dict[str, Any]:
    answer = {"200": {"description": "Done", "content": {JSON: {"schema": schemas.of(verb.gives)}}}}
    told, example = schemas.of(verb.args), msgspec.to_builtins(verb.example)
    if verb.reads:
        return {"parameters": _parameters(schemas.whole(told), example), "responses": answer}
    return {"requestBody": {"required": True, "content": {JSON: {"schema": told, "example": example}}},
            "responses": answer}  # fmt: skip


def _parameters(schema: dict[str, Any], example: dict[str, Any]) -> list[dict[str, Any]]:
    needed = schema.get("required", [])
    found = []
    for name, kind in schema.get("properties", {}).items():
        shown = {"example": example[name]} if name in example else {}
        found.append({"name": name, "in": "query", "required": name in needed, "schema": kind, **shown})
    return found
