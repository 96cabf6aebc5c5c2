"""The live line, as far as OpenAPI can tell of a WebSocket: its handshake, and the messages of both sides."""

from __future__ import annotations

from typing import Any

from rigd.server.description.examples import example_of
from rigd.server.description.refusals import refusal
from rigd.server.description.schemas import LINES, Schemas

_ABOUT = """A WebSocket. First comes a snapshot at sequence n, then every event after n without a gap, notices, and who
works the rig. A client that fell behind, or asks, gets a new snapshot. Live pictures are binary messages, each after
its `picture`; the next one comes when the client has acknowledged the last with `seen`: a slow client misses pictures,
and nobody waits for it. Messages are JSON texts told apart by `kind`; `x-from-server` and `x-from-client` show one of
each. Twenty messages a second at most, acknowledgements apart, of 64 KiB. Close codes (RFC 6455): 1001 rigd ends, 1003
a message that cannot be read, 1008 too fast, or this session has ended, 1009 too long."""


def line(schemas: Schemas, known: dict[str, Any]) -> dict[str, Any]:
    """The description of `/api/live`."""
    server, client = (schemas.of(kind) for kind in LINES)
    return {
        "summary": "The live line", "description": _ABOUT, "operationId": "live",
        "responses": {
            "101": {"description": "Here it is."}, "401": refusal("401"), "403": refusal("403"),
            "default": refusal("default"),
        },
        "x-from-server": {"schema": server, "examples": _each(server, known)},
        "x-from-client": {"schema": client, "examples": _each(client, known)},
    }  # fmt: skip


def _each(union: dict[str, Any], known: dict[str, Any]) -> list[Any]:
    return [example_of(one, known) for one in union.get("anyOf", union.get("oneOf", []))]
