"""Pure checks on headers. Sources: RFC 9110 (Host, fields), RFC 6454 (Origin), W3C Fetch Metadata, RFC 6265, RFC 6750;
the rules themselves from the OWASP cheat sheets on CSRF and WebSockets."""

from __future__ import annotations

import pytest

from rigd.server import headers as h
from rigd.server.guard import GuardConfig
from rigd.server.sessions import SessionBook

GUARD = GuardConfig(8377, SessionBook())
ORIGINS = frozenset({"http://127.0.0.1:8377"})


def pairs(**fields: str) -> list[tuple[bytes, bytes]]:
    return [(name.replace("_", "-").encode(), value.encode()) for name, value in fields.items()]


@pytest.mark.parametrize("host", ["127.0.0.1:8377", "localhost:8377", "LOCALHOST:8377", "[::1]:8377"])
def test_our_own_names_pass(host: str) -> None:
    assert h.check_host(pairs(host=host), GUARD.hosts) is None


@pytest.mark.parametrize(
    "host",
    [
        "evil.example:8377", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8377.evil.example", "127.0.0.1:83770", "",
        "0.0.0.0:8377",
    ],
)
def test_a_name_that_was_rebound_to_us_does_not(host: str) -> None:
    assert h.check_host(pairs(host=host), GUARD.hosts) is h.FOREIGN_HOST


def test_two_hosts_or_none_are_refused() -> None:
    two = [(b"host", b"127.0.0.1:8377"), (b"host", b"evil.example")]
    assert h.check_host(two, GUARD.hosts) is h.FOREIGN_HOST
    assert h.check_host([], GUARD.hosts) is h.FOREIGN_HOST


def test_on_port_80_the_bare_name_is_ours() -> None:
    # RFC 9110 section 7.2: the port is left out where it is the scheme's default.
    assert h.check_host(pairs(host="127.0.0.1"), GuardConfig(80, SessionBook()).hosts) is None


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:8377", "http://127.0.0.1:9000", "http://127.0.0.1"]
)
def test_a_foreign_origin_is_refused(origin: str) -> None:
    assert h.check_origin(pairs(origin=origin), ORIGINS, required=False) is h.FOREIGN_ORIGIN


def test_a_missing_origin_passes_only_where_it_is_not_required() -> None:
    assert h.check_origin([], ORIGINS, required=False) is None
    assert h.check_origin([], ORIGINS, required=True) is h.FOREIGN_ORIGIN


@pytest.mark.parametrize(
    ("site", "passes"), [("same-origin", True), ("none", True), ("same-site", False), ("cross-site", False)]
)
def test_where_the_browser_tells_the_site_it_counts(site: str, passes: bool) -> None:
    found = h.check_origin(pairs(origin="http://127.0.0.1:8377", sec_fetch_site=site), ORIGINS, required=True)
    assert (found is None) is passes


@pytest.mark.parametrize("kind", ["application/json", "application/json; charset=utf-8", "Application/JSON"])
def test_json_passes(kind: str) -> None:
    assert h.check_media(pairs(content_type=kind)) is None


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "text/json"]
)
def test_what_a_form_can_send_does_not(kind: str) -> None:
    assert h.check_media(pairs(content_type=kind)) is h.WRONG_MEDIA
    assert h.check_media([]) is h.WRONG_MEDIA


def test_a_cookie_is_found_by_its_whole_name() -> None:
    line = pairs(cookie="xrigd_8377=no; rigd_8377=yes; rigd_8378=other")
    assert h.cookie(line, "rigd_8377") == "yes"
    assert h.cookie(line, "rigd_83") is None


def test_a_bearer_token_is_read_whatever_the_case_of_its_scheme() -> None:
    assert h.bearer(pairs(authorization="bearer abc")) == "abc"
    assert h.bearer(pairs(authorization="Basic abc")) is None
    assert h.bearer(pairs(authorization="Bearer ")) is None
