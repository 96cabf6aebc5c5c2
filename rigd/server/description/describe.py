"""Puts the description together, once, when it is first asked for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fastapi import FastAPI

from rigd.server.description.examples import example_of
from rigd.server.description.line import line
from rigd.server.description.refusals import PROBLEM, refusals
from rigd.server.description.schemas import ANSWERS, Schemas
from rigd.server.guard import ENTER, GuardConfig

JSON = "application/json"
FREE = {("get", "/healthz"), ("post", ENTER)}
# FastAPI describes its own refusals, which nobody gets here.
_STRANGE = ("HTTPValidationError", "ValidationError")
_ABOUT = """Everything that the page and the command line can do. Looking is GET, everything else is POST with a JSON
object. A browser has its session as a cookie and sends its Origin; a program has a token (`rigd devices token NAME`)
and sends it as `Authorization: Bearer`. Commands of the cycle carry a `nonce`: what arrives twice is carried out once;
and a `target`, the frame that is meant: where another one lies in the gate, they are refused. Whatever is refused says
why, and what to do, as a problem (RFC 9457). `/api/live` is a WebSocket."""


def describe(app: FastAPI, schemas: Schemas, guard: GuardConfig) -> None:
    """Let the app describe itself so."""
    plain = app.openapi

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            _complete(plain(), schemas, guard)
        return app.openapi_schema or {}

    app.openapi = described  # type: ignore[method-assign]  # as FastAPI's own documentation does it


def _complete(told: dict[str, Any], schemas: Schemas, guard: GuardConfig) -> None:
    told["info"]["description"] = _ABOUT
    parts = told.setdefault("components", {})
    known: dict[str, Any] = parts.setdefault("schemas", {})
    for name in _STRANGE:
        known.pop(name, None)
    for name, schema in schemas.components.items():
        known.setdefault(name, schema)
    known["Problem"] = PROBLEM
    parts["securitySchemes"] = {
        "session": {"type": "apiKey", "in": "cookie", "name": guard.cookie_name()},
        "token": {"type": "http", "scheme": "bearer"},
    }
    told["security"] = [{"session": []}, {"token": []}]
    for method, path, operation in operations(told):
        _operation(method, path, operation, schemas, known)
    told["paths"]["/api/live"] = {"get": line(schemas, known)}


def operations(told: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Method, path and description of every operation."""
    for path, methods in told["paths"].items():
        for method, operation in methods.items():
            yield method, path, operation


def _operation(method: str, path: str, operation: dict[str, Any], schemas: Schemas, known: dict[str, Any]) -> None:
    free = (method, path) in FREE
    if free:
        operation["security"] = []
    if path in ANSWERS:
        operation["responses"]["200"]["content"] = {JSON: {"schema": schemas.of(ANSWERS[path])}}
    operation["responses"] = {
        **{status: one for status, one in operation["responses"].items() if status.startswith("2")},
        **refusals(method, path, operation, free),
    }
    for one in operation.get("parameters", []):
        one.setdefault("example", example_of(one["schema"], known, one["name"]))
    content = [operation.get("requestBody", {}), *operation["responses"].values()]
    for kind, media in [media for one in content for media in one.get("content", {}).items()]:
        _exemplify(kind, media, known)


def _exemplify(kind: str, media: dict[str, Any], known: dict[str, Any]) -> None:
    if kind == JSON and "example" not in media and "examples" not in media:
        media["example"] = example_of(media["schema"], known)
