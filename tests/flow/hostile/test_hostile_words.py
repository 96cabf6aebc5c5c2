"""Words that would be commands somewhere else: markup in names and marks, control characters, terminal sequences.

Source: OWASP Cross Site Scripting Prevention cheat sheet (the payloads; the right content type). That the page sets
text as text is shown in real Chromium, in tests/browser."""

from __future__ import annotations

import json
import re

import pytest
from tests.flow.hostile.attacks import ask, page, post
from tests.unit.server.serving import Served

NASTY = [
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</title><svg onload=alert(1)>",
    "javascript:alert(1)", "{{7*7}}${7*7}", "&lt;script&gt;", "' OR 1=1; DROP TABLE roll; --", "a\u2028alert(1)",
    "=cmd|' /C calc'!A0",
]  # fmt: skip


@pytest.mark.parametrize("word", NASTY)
async def test_markup_in_names_comes_back_as_data_and_nowhere_as_a_page(running: Served, word: str) -> None:
    fields = page(running)
    made = await post(running, "/api/rolls", {"label": word, "film_format": "135", "where": word}, **fields)
    assert made.status == 201
    roll = json.loads(made.body)
    assert (roll["label"], roll["where"]) == (word, word), "kept as it was written"
    assert re.fullmatch(r"[^/\\<>\"|\x00-\x1f]+", roll["folder"]), "and the folder has a tame name"
    marked = await post(running, "/api/frames/edges", {"roll": "r-0001", "strip": 1, "first": word}, **fields)
    assert marked.status in (200, 404, 409, 422)
    whole = f"/api/rolls/{roll['roll_id']}/whole"
    for path in ("/api/rolls", "/api/state?whole=true", whole, "/api/rolls/nowhere/tally"):
        answer = await ask(running, path, **fields)
        assert answer.headers["content-type"] in ("application/json", "application/problem+json")
        assert answer.headers["x-content-type-options"] == "nosniff"
    figures = await ask(running, "/metrics", **fields)
    assert figures.headers["content-type"].startswith("text/plain")
    assert b"alert(1)" not in (await ask(running, "/")).body


@pytest.mark.parametrize("word", ["<script>alert(1)</script>", "\u202eq", "r-0001\r\nSet-Cookie: x=y"])
async def test_a_refusal_that_repeats_a_word_is_data_too(running: Served, word: str) -> None:
    fields, strange = page(running), {"Origin": running.url, "Content_Type": "application/json"}
    for answer in (
        await post(running, "/api/mark", {"frame_id": word, "film": None}, **fields),
        await post(running, "/api/trigger", {"nonce": "12345678", "target": word}, **fields),
        await post(running, "/api/session", {"code": word, word: 1}, **strange),
    ):
        assert answer.headers["content-type"] == "application/problem+json"
        assert "set-cookie" not in answer.headers
        assert answer.headers["content-security-policy"].startswith("default-src 'self'")


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("/api/job", "title"), ("/api/rolls", "label"), ("/api/rolls", "where"), ("/api/setup", "holder"),
        ("/api/devices", "name"), ("/api/trigger", "target"),
    ],
)  # fmt: skip
async def test_control_characters_are_refused_in_short_texts(
    running: Served, path: str, field: str
) -> None:
    """They would garble a list, a terminal, a log or a file's name."""
    needed = {"label": "x", "film_format": "135"} if path == "/api/rolls" else {"nonce": "1" * 8}
    for letter in "\x00\x1b\x07\n\r\x7f\x9b":
        body = {**(needed if path in ("/api/rolls", "/api/trigger") else {}), field: f"a{letter}b"}
        answer = await post(running, path, body, **page(running))
        assert (answer.status, answer.code) == (422, "input"), letter
        assert field in json.loads(answer.body)["detail"]
