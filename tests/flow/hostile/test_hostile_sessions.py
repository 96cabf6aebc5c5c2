"""Sessions that are missing, guessed, stolen, revoked or expired, and rights that a session does not have.

Source: OWASP Session Management cheat sheet. Four days of silence and the three roles are the project's own."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from tests.flow.hostile.attacks import Answer, ask, example, filled, page, post, routes, shake, target
from tests.unit.server.serving import Served
from websockets.asyncio.client import connect
from websockets.exceptions import ConnectionClosed

from rigd.operations.all_verbs import ALL_VERBS
from rigd.server import Role

# What is the host's alone.
HOSTS = {
    "/api/pairing", "/api/pairing/shut", "/api/devices", "/api/devices/{device_id}/revoke",
    "/api/devices/{device_id}/name", "/api/quit", *(f"/api/{verb.name}" for verb in ALL_VERBS if verb.host),
}  # fmt: skip
# What a session that only looks may post: its own end.
ANYBODYS = {"/api/session", "/api/session/end"}
OPEN = {("GET", "/healthz"), ("POST", "/api/session")}


class Hands:
    """A clock that is set by hand."""

    now = datetime(2031, 3, 4, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Hands:
    return Hands()


@pytest.fixture
async def dated(tmp_path: Path, clock: Hands) -> AsyncIterator[Served]:
    async with target(tmp_path, clock_of_sessions=clock) as found:
        yield found


def refused(answer: Answer, status: int, code: str) -> bool:
    assert (answer.status, answer.code) == (status, code)
    assert json.loads(answer.body)["remedy"], "every refusal says what to do"
    return True


async def every(running: Served, role: Role | None = None, **fields: str | None) -> dict[tuple[str, str], Answer]:
    """The answer of every route, asked with its own example; each with a session of that role, or with `fields`."""
    found = {}
    for method, path, told in routes(running.house):
        sent = page(running, role) if role else {**page(running), **fields}
        way = filled(path, "r-0001")
        if method == "POST":
            found[method, path] = await post(running, way, example(running.house, told), **sent)
        else:
            found[method, path] = await ask(running, way, **sent)
    return found


@pytest.mark.parametrize(
    "fields",
    [
        {"Cookie": None}, {"Cookie": ""}, {"Cookie": "rigd_{port}="}, {"Cookie": "rigd_{port}=AAAA"},
        {"Cookie": "rigd_1=stolen"}, {"Cookie": "__Host-rigd_{port}=stolen"},
        {"Cookie": None, "Authorization": "Bearer AAAA"}, {"Cookie": None, "Authorization": "Basic AAAA"},
    ],
)  # fmt: skip
async def test_without_a_session_every_route_is_shut(running: Served, fields: dict[str, str | None]) -> None:
    before = running.house.desk.state
    given = {name: text and text.format(port=running.server.port) for name, text in fields.items()}
    for route, answer in (await every(running, **given)).items():
        assert route in OPEN or refused(answer, 401, "no-session"), route
    assert refused(await ask(running, "/api/live", **{**page(running), **given}, **shake()), 401, "no-session")
    assert running.house.desk.state is before


async def test_a_secret_counts_only_where_it_belongs(running: Served) -> None:
    """Not in the address, where it would be logged and passed on; not as the cookie of another port or of TLS."""
    secret = running.house.book.let_in(Role.HOST, "phone")
    bare = {"Origin": running.url}
    for path in (f"/api/state?token={secret}", f"/api/state?rigd_{running.server.port}={secret}"):
        assert refused(await ask(running, path, **bare), 401, "no-session")
    for name in ("rigd_80", f"__Host-rigd_{running.server.port}", f"RIGD_{running.server.port}", "rigd"):
        assert refused(await ask(running, "/api/state", **bare, Cookie=f"{name}={secret}"), 401, "no-session")
    for wrong in (secret[:-1], secret + "A", secret.swapcase()):
        cookie = f"rigd_{running.server.port}={wrong}"
        assert refused(await ask(running, "/api/state", **bare, Cookie=cookie), 401, "no-session")


async def test_a_session_ends_for_whoever_stole_it_too(running: Served) -> None:
    """A stolen cookie is as good as the device that it was taken from, until the host sends that device away: then
    neither gets in any more, nor does a line stay open."""
    phone = running.house.cookie(Role.OPERATOR)
    thief = {"Origin": running.url, "Content_Type": "application/json", **phone}
    (session,) = running.house.book.listed()
    async with connect(running.live_url, additional_headers={"Origin": running.url, **phone}) as line:
        await line.recv()
        assert (await ask(running, "/api/state", **thief)).status == 200
        revoke = f"/api/devices/{session.session_id}/revoke"
        assert (await post(running, revoke, {}, **page(running))).status == 200
        with pytest.raises(ConnectionClosed):
            await line.recv()
    assert refused(await ask(running, "/api/state", **thief), 401, "no-session")
    assert refused(await post(running, "/api/pause", {}, **thief), 401, "no-session")
    assert refused(await ask(running, "/api/live", **thief, **shake()), 401, "no-session")


async def test_a_session_that_was_silent_for_four_days_has_ended(dated: Served, clock: Hands) -> None:
    fields = page(dated, Role.OPERATOR)
    clock.now += timedelta(days=4)
    assert (await ask(dated, "/api/state", **fields)).status == 200, "a weekend is no silence, and it lives on from now"
    clock.now += timedelta(days=4, seconds=1)
    assert refused(await ask(dated, "/api/state", **fields), 401, "no-session")
    assert refused(await ask(dated, "/api/live", **fields, **shake()), 401, "no-session")


async def test_a_session_that_only_looks_can_do_nothing_else(running: Served) -> None:
    before = running.house.desk.state
    for (method, path), answer in (await every(running, Role.VIEWER)).items():
        if path in HOSTS or (method == "POST" and path not in ANYBODYS):
            assert refused(answer, 403, "role"), path
        else:
            assert answer.status != 403 or path == "/api/session", path
    assert running.house.desk.state is before


async def test_an_operator_can_do_nothing_of_the_hosts(running: Served) -> None:
    shut = {path for (_, path), answer in (await every(running, Role.OPERATOR)).items() if answer.code == "role"}
    assert shut == HOSTS
    assert running.house.left == []


async def test_the_rights_do_not_grow_by_asking(running: Served) -> None:
    """A role in the body, a second session in the cookie, a method in a header: none of it counts."""
    viewer, host = running.house.cookie(Role.VIEWER)["Cookie"], running.house.cookie(Role.HOST)["Cookie"]
    fields = {"Origin": running.url, "Content_Type": "application/json"}
    two = {**fields, "Cookie": f"{viewer}; {host}"}
    assert refused(await post(running, "/api/pause", {}, **two), 403, "role"), "the first one counts"
    one = {**fields, "Cookie": viewer}
    for more in ({"X_HTTP_Method_Override": "POST"}, {"X_Forwarded_For": "127.0.0.1"}, {"X_Role": "host"}):
        assert refused(await post(running, "/api/quit", {"role": "host"}, **one, **more), 403, "role")
    assert (await ask(running, "/api/quit?_method=POST", **one, X_HTTP_Method_Override="POST")).status in (404, 405)
    assert running.house.left == []
