"""Verbs that are declared as values, over HTTP: who may ask, what is refused, and how they are described."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from tests.unit.server.serving import House, house

from rigd.operations.all_verbs import ALL_VERBS
from rigd.operations.verb import Verb
from rigd.server import Role


@pytest.fixture
async def home(tmp_path: Path) -> AsyncIterator[House]:
    async with house(tmp_path) as found:
        yield found


async def test_each_is_described_with_what_it_is_told_and_gives(home: House) -> None:
    async with home.browser() as browser:
        told = (await browser.get("/api/openapi.json")).json()
    for verb in ALL_VERBS:
        way = told["paths"][f"/api/{verb.name}"]["get" if verb.reads else "post"]
        assert way["description"]
        assert "schema" in way["responses"]["200"]["content"]["application/json"]
        if verb.reads:
            assert {p["name"] for p in way["parameters"]} == set(verb.args.__struct_fields__)
        else:
            example = way["requestBody"]["content"]["application/json"]["example"]
            assert verb.read(msgspec.json.encode(example)) == verb.example


async def test_every_reference_of_the_description_leads_somewhere(home: House) -> None:
    async with home.browser() as browser:
        text = (await browser.get("/api/openapi.json")).text
    schemas = msgspec.json.decode(text)["components"]["schemas"]
    named = {part.split('"')[0] for part in text.split("#/components/schemas/")[1:]}
    assert named <= set(schemas)
    assert {"RollChanges", "AboutChanges", "Roll"} <= named


@pytest.mark.parametrize("verb", [v for v in ALL_VERBS if not v.reads or v.host], ids=lambda verb: verb.name)
async def test_a_viewer_changes_nothing(home: House, verb: Verb[Any, Any]) -> None:
    """Nor reads what is for the host alone."""
    async with home.browser(Role.VIEWER) as browser:
        if verb.reads:
            answered = await browser.get(f"/api/{verb.name}")
        else:
            answered = await browser.post(f"/api/{verb.name}", json=msgspec.to_builtins(verb.example))
    assert answered.status_code == 403


async def test_a_viewer_reads(home: House) -> None:
    async with home.browser(Role.VIEWER) as browser:
        suggested = await browser.get("/api/plan/suggest", params={"film_format": "135", "exposures": "36"})
    assert suggested.json()["expected"] == [36, 39]


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ('{"roll": "a", "changes": {"colr": 1}}', "colr"), ('{"roll": 3, "changes": {}}', "roll"), ("[]", "object"),
        ('{"changes": {}}', "roll"), ('{"roll": "a", "changes": {"expected": [1]}}', "expected"), ("{", "truncated"),
        ('{"roll": "a", "changes": {"tone": "grey"}}', "tone"), ("", "roll"), ("\xff", "malformed"),
    ],
)  # fmt: skip
async def test_what_does_not_fit_is_a_problem_with_a_remedy(home: House, body: str, says: str) -> None:
    async with home.browser() as browser:
        headers = {"Content-Type": "application/json"}
        answered = await browser.post("/api/plan/change", content=body.encode("latin-1"), headers=headers)
    problem = answered.json()
    assert (answered.status_code, problem["code"]) == (422, "input")
    assert says in problem["detail"]
    assert problem["remedy"]


async def test_a_query_that_does_not_fit_is_one_too(home: House) -> None:
    async with home.browser() as browser:
        queries = ("", "?film_format=135&exposures=x", "?a=1")
        answers = [await browser.get(f"/api/plan/suggest{query}") for query in queries]
    assert [answer.status_code for answer in answers] == [422, 422, 422]
