"""Foreign names and foreign pages: DNS rebinding, cross-site requests, and forms, on HTTP and on the WebSocket.

Sources: OWASP cheat sheets (CSRF; WebSocket: Origin at the handshake), RFC 9112 section 3.2 (one Host, absolute form),
RFC 6454 (Origin), W3C Fetch Metadata. Names and addresses are those of RFC 2606 and RFC 5737."""

from __future__ import annotations

import pytest
from tests.flow.hostile.attacks import ask, head, page, post, send, shake
from tests.unit.server.serving import Served

# Each is a name that may lead to 127.0.0.1, by a foreign name server or by another way to write the same address.
REBOUND = [
    "evil.example:{port}", "evil.example", "127.0.0.1.evil.example:{port}", "127.0.0.1:{port}.evil.example",
    "127.0.0.1", "127.0.0.1:1{port}", "127.0.0.2:{port}", "0.0.0.0:{port}",
    "2130706433:{port}", "127.1:{port}", "0x7f.0.0.1:{port}",
    "[::ffff:127.0.0.1]:{port}", "localhost.:{port}", "user@127.0.0.1:{port}", "127.0.0.1:{port}/",
    "127.0.0.1 :{port}", "",
]  # fmt: skip
FOREIGN = [
    "http://evil.example", "null", "https://127.0.0.1:{port}", "http://127.0.0.1:1", "http://127.0.0.1", "file://",
]  # fmt: skip
MULTIPART = b'--x\r\nContent-Disposition: form-data; name="title"\r\n\r\nx\r\n--x--'
ASKED = ["/", "/main.js", "/healthz", "/metrics", "/api/state", "/api/nowhere"]


def named(running: Served, text: str) -> str:
    return text.format(port=running.server.port)


@pytest.mark.parametrize("name", REBOUND)
async def test_under_a_rebound_name_nothing_at_all_is_served(running: Served, name: str) -> None:
    before = running.house.desk.state
    fields = {**page(running), "Host": named(running, name)}
    answers = [await ask(running, path, **fields) for path in ASKED]
    answers += [await post(running, path, {}, **fields) for path in ("/api/session", "/api/pause", "/api/quit")]
    answers.append(await ask(running, "/api/live", **fields, **shake()))
    assert {(answer.status, answer.code) for answer in answers} <= {(403, "foreign-host"), (400, "input")}
    assert running.house.desk.state is before
    assert running.house.left == []


async def test_two_hosts_none_or_another_one_in_the_address_are_refused(running: Served) -> None:
    good = running.url.removeprefix("http://")
    two = head(running, "/api/state", X=f"y\r\nHost: {good}", **page(running))
    assert (await send(running, two)).status in (400, 403)
    assert (await send(running, head(running, "/api/state", Host=None, **page(running)))).status == 400
    absolute = await ask(running, "http://evil.example/api/state", **page(running))
    assert (absolute.status, absolute.code) == (404, "not-found")


@pytest.mark.parametrize("origin", FOREIGN)
async def test_a_page_of_another_site_commands_nothing_and_sees_nothing(running: Served, origin: str) -> None:
    before = running.house.desk.state
    fields = {**page(running), "Origin": named(running, origin)}
    answers = [await post(running, path, {}, **fields) for path in ("/api/pause", "/api/quit", "/api/session")]
    answers += [await ask(running, path, **fields) for path in ("/api/state", "/metrics", "/api/openapi.json")]
    answers.append(await ask(running, "/api/live", **fields, **shake()))
    assert {(answer.status, answer.code) for answer in answers} == {(403, "foreign-origin")}
    assert not any("access-control" in name for answer in answers for name in answer.headers), "and no CORS"
    assert running.house.desk.state is before


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
async def test_where_the_browser_says_that_it_is_another_site_it_is(running: Served, site: str) -> None:
    fields = {**page(running), "Sec_Fetch_Site": site}
    command = await post(running, "/api/pause", {}, **fields)
    for answer in (command, await ask(running, "/api/live", **fields, **shake())):
        assert (answer.status, answer.code) == (403, "foreign-origin")


async def test_an_origin_said_twice_or_left_out_is_none_of_ours(running: Served) -> None:
    twice = {**page(running), "X": f"y\r\nOrigin: {running.url}"}
    without = {**page(running), "Origin": None}
    for fields in (twice, without):
        assert (await post(running, "/api/pause", {}, **fields)).code == "foreign-origin"
        line = await ask(running, "/api/live", **fields, **shake())
        assert line.status in (400, 403), "400: the WebSocket library's own word for two of them"


@pytest.mark.parametrize(
    "kind", ["application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain", "", None]
)
async def test_no_form_of_any_page_is_a_command(running: Served, kind: str | None) -> None:
    """What HTML forms can send, with the cookie, even from an origin that is ours."""
    before = running.house.desk.state
    for origin in (running.url, "http://evil.example", "null", None):
        fields = {**page(running), "Origin": origin, "Content_Type": kind}
        for body in (b'{"title": "x"}', b"title=x", MULTIPART):
            answer = await post(running, "/api/job", body, **fields)
            assert answer.code in ("media-type", "foreign-origin")
    assert running.house.desk.state is before


async def test_refusals_do_not_fill_the_log(running: Served, caplog: pytest.LogCaptureFixture) -> None:
    for fields in ({"Origin": "http://evil.example"}, {"Host": "evil.example"}, {"Cookie": ""}):
        sent = {**page(running), **fields}
        assert (await ask(running, "/api/live", **sent, **shake())).status in (401, 403)
        assert (await ask(running, "/api/state", **sent)).status in (401, 403)
    assert not caplog.records
