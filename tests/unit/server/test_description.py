"""The API's description: complete, true to its own schemas, and every refusal with its remedy.

Sources: OpenAPI 3.1.0 (operation, media type, example), RFC 9457 (problem details), JSON Schema 2020-12 by the
jsonschema-rs library, which knows nothing of ours."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import jsonschema_rs
import msgspec
import pytest
from tests.unit.server.serving import house

from rigd.operations.all_verbs import ALL_VERBS
from rigd.server.description import Schemas

MEDIA = "application/problem+json"


@pytest.fixture
async def told(tmp_path: Path) -> AsyncIterator[dict[str, Any]]:
    async with house(tmp_path) as home, home.browser() as page:
        yield (await page.get("/api/openapi.json")).json()


def operations(told: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, methods in told["paths"].items():
        for method, operation in methods.items():
            yield f"{method.upper()} {path}", operation


def bodies(operation: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Everything that is sent and answered: status ("" for the request), kind, what is told of it."""
    for status, one in {"": operation.get("requestBody", {}), **operation["responses"]}.items():
        for kind, media in one.get("content", {}).items():
            yield status, kind, media


def fits(value: Any, schema: dict[str, Any], told: dict[str, Any]) -> None:
    jsonschema_rs.Draft202012Validator({**schema, "components": told["components"]}).validate(value)


def shown(media: dict[str, Any], told: dict[str, Any]) -> list[Any]:
    """The examples of a body: beside its schema or in it."""
    name = media["schema"].get("$ref", "").rpartition("/")[2]
    whole = told["components"]["schemas"][name] if name else media["schema"]
    return [media["example"]] if "example" in media else list(whole.get("examples", []))


def test_every_operation_has_words_and_examples_that_fit(told: dict[str, Any]) -> None:
    names = []
    for name, operation in operations(told):
        names.append(name)
        assert operation["summary"], name
        assert operation["operationId"], name
        for one in operation.get("parameters", []):
            fits(one["example"], one["schema"], told)
        if name == "GET /api/live":
            continue
        jsons = [(status, media) for status, kind, media in bodies(operation) if kind == "application/json"]
        for _, media in jsons:
            assert shown(media, told), name
            for value in shown(media, told):
                fits(value, media["schema"], told)
        kinds = {kind for status, kind, _ in bodies(operation) if status.startswith("2")}
        assert jsons or kinds & {"image/jpeg", "application/pdf", "text/plain"}, name
        assert name.startswith("GET ") or "" in [status for status, _ in jsons], f"{name}: what it is told"
    assert len(names) > 70


def test_every_refusal_of_every_operation_is_a_problem_with_a_remedy(told: dict[str, Any]) -> None:
    for name, operation in operations(told):
        refusals = {status: one for status, one in operation["responses"].items() if not status.startswith(("1", "2"))}
        assert "default" in refusals, name
        if operation.get("security") != []:
            assert {"401", "403"} <= set(refusals), name
        if name.startswith("POST"):
            assert {"409", "413", "415", "422", "429"} <= set(refusals), name
        for one in refusals.values():
            assert list(one["content"]) == [MEDIA], name
            example = one["content"][MEDIA]["example"]
            fits(example, one["content"][MEDIA]["schema"], told)
            assert example["remedy"], name


def test_only_coming_in_and_being_alive_ask_for_no_session(told: dict[str, Any]) -> None:
    assert told["security"] == [{"session": []}, {"token": []}]
    free = [name for name, operation in operations(told) if operation.get("security") == []]
    assert free == ["GET /healthz", "POST /api/session"]


def test_the_live_line_shows_one_of_each_message(told: dict[str, Any]) -> None:
    line = told["paths"]["/api/live"]["get"]
    for side, kinds in (
        ("x-from-server", {"snapshot", "event", "notice", "picture", "control", "here"}),
        ("x-from-client", {"watch", "seen", "fresh", "ask"}),
    ):
        assert {one["kind"] for one in line[side]["examples"]} == kinds
        for value in line[side]["examples"]:
            fits(value, line[side]["schema"], told)


def test_no_two_types_share_a_name(told: dict[str, Any]) -> None:
    """What the web framework describes and what the domain does: where a name were both, one would hide the other."""
    known, ours = told["components"]["schemas"], json.loads(msgspec.json.encode(Schemas(ALL_VERBS).components))
    hidden = {name for name, schema in ours.items() if _plain(known[name]) != _plain(schema)}
    assert hidden == set()


def _plain(schema: dict[str, Any]) -> dict[str, Any]:
    """Without what says nothing about values: words, and what is understood anyway."""
    told = {key: value for key, value in schema.items() if key not in ("title", "description", "examples")}
    if "enum" in told:
        return {"enum": sorted(told["enum"])}
    return {key: value for key, value in told.items() if value != []}
