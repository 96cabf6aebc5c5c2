"""Routes for verbs that are declared as values: one each, described in OpenAPI from the types of what they are told."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec
from fastapi import APIRouter, FastAPI, Request, Response

from rigd.operations.desk import Desk
from rigd.operations.verb import Verb
from rigd.server.roles import Who, router
from rigd.server.sessions import Role

_REF = "#/components/schemas/{name}"
JSON = "application/json"


def routers(desk: Desk, verbs: Iterable[Verb[Any, Any]]) -> list[APIRouter]:
    """One router a role. Verbs that read are asked by GET, the others by POST."""
    found = {role: router(role) for role in Role}
    for verb in verbs:
        role = Role.HOST if verb.host else Role.VIEWER if verb.reads else Role.OPERATOR
        _add(found[role], desk, verb)
    return list(found.values())


def describe(app: FastAPI, verbs: Iterable[Verb[Any, Any]]) -> None:
    """Put the types of the verbs among the schemas of the app's description."""
    told = list(verbs)
    plain = app.openapi

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            schema = plain()
            types = [kind for verb in told for kind in (verb.args, verb.gives)]
            _, components = msgspec.json.schema_components(types, ref_template=_REF)
            known = schema.setdefault("components", {}).setdefault("schemas", {})
            for name, kind in components.items():
                known.setdefault(name, kind)
        return app.openapi_schema or {}

    app.openapi = described  # type: ignore[method-assign]  # as FastAPI's own documentation does it


def _add(api: APIRouter, desk: Desk, verb: Verb[Any, Any]) -> None:
    async def by_query(request: Request, who: Who) -> Response:
        query = {name: request.query_params.getlist(name) for name in request.query_params}
        return await _done(verb.read_query(query), who.source)

    async def by_body(request: Request, who: Who) -> Response:
        return await _done(verb.read(await request.body()), who.source)

    async def _done(args: Any, source: str) -> Response:
        return Response(msgspec.json.encode(await verb.run(desk, args, source)), media_type=JSON)

    api.add_api_route(
        f"/{verb.name}", by_query if verb.reads else by_body, methods=["GET" if verb.reads else "POST"],
        name=verb.name, summary=verb.doc.splitlines()[0], description=verb.doc, openapi_extra=_described(verb),
    )  # fmt: skip


def _described(verb: Verb[Any, Any]) -> dict[str, Any]:
    (gives,), _ = msgspec.json.schema_components([verb.gives], ref_template=_REF)
    answer = {"200": {"description": "Done", "content": {JSON: {"schema": gives}}}}
    if verb.reads:
        return {"parameters": _parameters(verb), "responses": answer}
    (told,), _ = msgspec.json.schema_components([verb.args], ref_template=_REF)
    example = msgspec.to_builtins(verb.example)
    body = {"required": True, "content": {JSON: {"schema": told, "example": example}}}
    return {"requestBody": body, "responses": answer}


def _parameters(verb: Verb[Any, Any]) -> list[dict[str, Any]]:
    example = msgspec.to_builtins(verb.example)
    found = []
    for field in msgspec.structs.fields(verb.args):
        (schema,), _ = msgspec.json.schema_components([field.type], ref_template=_REF)
        one = {"name": field.encode_name, "in": "query", "required": field.required, "schema": schema}
        shown = {"example": example[field.encode_name]} if field.encode_name in example else {}
        found.append({**one, **shown})
    return found
