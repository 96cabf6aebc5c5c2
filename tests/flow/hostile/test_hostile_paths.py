"""Ways out of a folder, in every route that takes a name, and in the page's own files.

Source: OWASP Web Security Testing Guide, path traversal (the ways of writing it); RFC 3986 section 2.1 (encoding)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.flow.hostile.attacks import SECRET, ask, example, filled, page, post, routes
from tests.unit.server.serving import Served

OUT = [
    "..", "../secret.txt", "../../secret.txt", "..%2fsecret.txt", "%2e%2e%2fsecret.txt", "%2e%2e/%2e%2e/secret.txt",
    "..%252f..%252fsecret.txt", "..%5c..%5csecret.txt", "..\\secret.txt", "....//....//secret.txt",
    "%c0%ae%c0%ae/secret.txt", "%ef%bc%8e%ef%bc%8e/secret.txt", "/etc/passwd", "%2fetc%2fpasswd",
    "file:%2f%2f%2fetc%2fpasswd", "secret.txt%00.dng", "%00", "%0d%0aSet-Cookie:x=y", "%ff%fe", ";/secret.txt",
    "r-0001%2f..%2f..%2fsecret.txt", "x" * 4000, "%20", "%7b%7d", "t-000001%2f..", "-1", "9" * 40, "~root", "$HOME",
    "*", "CON", "'%20OR%201=1--",
]  # fmt: skip


def safe(status: int, body: bytes) -> None:
    assert status < 500
    assert SECRET.encode() not in body
    assert b"root:" not in body


@pytest.mark.parametrize("way", OUT)
async def test_no_address_leads_out(running: Served, way: str) -> None:
    fields = page(running)
    places = [filled(path, way) for method, path, _ in routes(running.house) if method == "GET" and "{" in path]
    assert len(places) >= 5
    for path in [*places, f"/{way}", f"/base/{way}", f"/api/{way}"]:
        answer = await ask(running, path, **fields)
        safe(answer.status, answer.body)
        assert "set-cookie" not in answer.headers


@pytest.mark.parametrize("way", ["../../outside", "/var/lib/outside", "..\\outside", "a\x00b", "\u202e..", "x" * 120])
async def test_no_name_in_a_command_leads_out(running: Served, tmp_path: Path, way: str) -> None:
    """Every text of every command's example, in turn, is such a name. Files come in the job's folder only."""
    before = outside(tmp_path)
    for method, path, told in routes(running.house):
        if method != "POST" or path == "/api/quit":
            continue
        for body in spoiled(example(running.house, told), way):
            answer = await post(running, filled(path, "r-0001"), body, **page(running))
            safe(answer.status, answer.body)
    assert outside(tmp_path) == before


def outside(place: Path) -> list[str]:
    """What lies beside the job's folder."""
    return sorted(path.name for path in place.iterdir())


def spoiled(body: Any, way: str) -> Iterator[Any]:
    """The same body with one of its texts replaced, each in turn."""
    if isinstance(body, str):
        yield way
    elif isinstance(body, dict):
        yield from ({**body, key: other} for key, one in body.items() for other in spoiled(one, way))
    elif isinstance(body, list):
        yield from ([*body[:i], other, *body[i + 1 :]] for i, one in enumerate(body) for other in spoiled(one, way))
