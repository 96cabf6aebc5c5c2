"""The door, from outside, on the real app: what comes in, what does not, and that looking changes nothing.
Sources of the rules: OWASP cheat sheets (CSRF, WebSocket, Session Management), RFC 9457 for the answers."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest
from starlette.types import Receive, Scope, Send
from tests.unit.server.serving import House, house

from rigd.operations import rolls
from rigd.server import GuardConfig, Role, SessionBook
from rigd.server.guard import Guard

JOB = {"title": "Harbour office, survey of the quays"}
EXAMPLES = {"roll_id": "r-0001", "take_id": "t-000001", "device_id": "1", "spot": "middle", "row": "0", "column": "0"}


@pytest.fixture
async def home(tmp_path: Path) -> AsyncIterator[House]:
    async with house(tmp_path) as built:
        yield built


def problem(reply: httpx.Response) -> tuple[int, str]:
    """Status and code of an answer that is problem details and nothing else."""
    assert reply.headers["content-type"] == "application/problem+json"
    body = reply.json()
    assert body["status"] == reply.status_code
    assert body["type"] == f"/problems/{body['code']}"
    assert body["title"].endswith(".")
    return reply.status_code, body["code"]


async def test_a_browser_that_was_let_in_may_work(home: House) -> None:
    async with home.browser() as page:
        reply = await page.post("/api/job", json=JOB)
    assert reply.status_code == 200
    assert home.desk.state.job is not None
    assert home.desk.state.job.title == JOB["title"]


async def test_a_command_of_the_page_needs_its_origin(home: House) -> None:
    async with home.browser() as page:
        del page.headers["Origin"]
        assert problem(await page.post("/api/job", json=JOB)) == (403, "foreign-origin")
        assert (await page.get("/api/state")).status_code == 200, "looking does not"


async def test_the_command_line_needs_its_token_alone(home: House) -> None:
    async with home.browser(role=None) as command:
        del command.headers["Origin"]
        command.headers["Authorization"] = f"Bearer {home.book.run_token()}"
        assert (await command.post("/api/job", json=JOB)).status_code == 200


async def test_too_many_commands_are_refused(home: House) -> None:
    async with home.browser() as page:
        codes = [(await page.post("/api/tally", json={})).status_code for _ in range(21)]
    assert codes == [405] * 20 + [429]


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
async def test_get_and_post_are_all_there_is(home: House, method: str) -> None:
    async with home.browser() as page:
        reply = await page.request(method, "/api/state", json={})
    assert problem(reply) == (405, "method")


async def test_looking_never_changes_anything(home: House) -> None:
    await rolls.open_job(home.desk, title="survey")
    roll = await rolls.plan_roll(home.desk, label="North quay 3", film_format_name="120-6x6")
    await rolls.open_roll(home.desk, roll_id=roll.roll_id)
    before = home.desk.state
    async with home.browser() as page:
        for method, path in _routes(home):
            reply = await page.get(path)
            await page.head(path)
            if method == "POST" and ("GET", path) not in _routes(home):
                assert problem(reply) in [(405, "method"), (404, "not-found")]
    assert home.desk.state is before


async def test_a_viewer_may_look_and_not_work(home: House) -> None:
    async with home.browser(Role.VIEWER) as page:
        assert (await page.get("/api/state")).status_code == 200
        page.headers["Content-Type"] = "application/json"
        assert problem(await page.post("/api/job", content=b"no json")) == (403, "role"), "before it is even read"
    assert home.desk.state.seq == 0


async def test_what_is_the_hosts_is_the_hosts_and_on_this_machine_only(home: House) -> None:
    async with home.browser(Role.OPERATOR) as page:
        assert problem(await page.post("/api/quit", json={})) == (403, "role")
    async with home.browser(Role.HOST, address="192.168.7.20") as page:
        assert problem(await page.post("/api/quit", json={})) == (403, "role")
        assert (await page.get("/api/state")).status_code == 200
    assert home.left == []
    async with home.browser(Role.HOST) as page:
        assert (await page.post("/api/quit", json={})).status_code == 200
    assert home.left == [True]


async def test_a_printed_link_becomes_a_cookie_once(home: House) -> None:
    code = home.book.invite(Role.HOST)
    async with home.browser(role=None) as page:
        reply = await page.post("/api/session", json={"code": code})
        assert reply.json() == {"id": 1, "name": "page", "role": "host", "local": True}
        line = reply.headers["set-cookie"].lower()
        # RFC 6265 section 5.2 and its successor's SameSite.
        assert all(word in line for word in ("rigd_8377=", "httponly", "samesite=strict", "path=/"))
        again = await page.get("/api/session")
        assert again.json()["role"] == "host"
        assert again.headers["set-cookie"] == reply.headers["set-cookie"], "it lives on from now"
        assert problem(await page.post("/api/session", json={"code": code})) == (403, "bad-code")
        assert problem(await page.post("/api/session", json={"code": ""})) == (422, "input")


async def test_every_answer_carries_the_safety_headers(home: House) -> None:
    async with home.browser() as page:
        replies = [await page.get(p) for p in ("/", "/main.js", "/api/state", "/healthz", "/nowhere", "/api/nowhere")]
        replies.append(await page.get("/", headers={"Host": "evil.example"}))
    for reply in replies:
        assert reply.headers["content-security-policy"] == "default-src 'self'; frame-ancestors 'none'; base-uri 'none'"
        assert reply.headers["x-content-type-options"] == "nosniff"
        assert not any(name.startswith("access-control-") for name in reply.headers)
    assert [r.status_code for r in replies] == [200, 200, 200, 200, 404, 404, 403]


async def test_a_fault_of_ours_is_logged_and_says_nothing_outside(caplog: pytest.LogCaptureFixture) -> None:
    async def broken(scope: Scope, receive: Receive, send: Send) -> None:
        raise ZeroDivisionError("the secret of the archive")

    guard = Guard(broken, GuardConfig(8377, SessionBook()))
    async with httpx.AsyncClient(transport=httpx.ASGITransport(guard), base_url="http://127.0.0.1:8377") as page:
        reply = await page.get("/healthz")
    assert problem(reply) == (500, "internal")
    assert "secret" not in reply.text
    assert "the secret of the archive" in caplog.text


def _routes(home: House) -> list[tuple[str, str]]:
    """Every route as (method, path), as the app itself describes them."""
    return [
        (method.upper(), re.sub(r"\{(\w+)\}", lambda name: EXAMPLES[name[1]], path))
        for path, methods in home.app.openapi()["paths"].items()
        for method in methods
    ]
