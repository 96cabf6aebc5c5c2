"""How requests are refused, as the description tells it: problem details (RFC 9457) with an example of each kind."""

from __future__ import annotations

import json
from typing import Any

from rigd.errors import Busy, NotFound, RigdError
from rigd.server import problems
from rigd.server.codes import BAD_CODE
from rigd.server.guard import NO_SESSION
from rigd.server.headers import WRONG_MEDIA
from rigd.server.limits import TOO_LARGE, TOO_MANY, TOO_SLOW
from rigd.server.problems import Problem
from rigd.server.roles import forbidden
from rigd.server.sessions import Role

PROBLEM: dict[str, Any] = {
    "type": "object",
    "title": "Problem",
    "description": "What happened, why, and what to do now (RFC 9457, with two members more: `code`, `remedy`).",
    "required": ["type", "status", "code", "title", "detail", "remedy"],
    "properties": {
        "type": {"type": "string", "description": "a relative reference, made from the code"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "code": {"type": "string", "description": "for programs"},
        "title": {"type": "string", "minLength": 1, "description": "what happened"},
        "detail": {"type": "string", "description": "why"},
        "remedy": {"type": "string", "minLength": 1, "description": "what to do now"},
    },
}

_UNFIT = Problem(
    422, "input", "The request does not fit.", "label: Field required", "Correct the named fields.",
)  # fmt: skip
_BUSY: RigdError = Busy("One thing at a time.", "The rig is busy with the frame in hand.", "Wait for the tone.")
_NOBODY: RigdError = NotFound("There is no roll r-0099.", "Known: r-0001 (North quay 1).", "Use one of these.")

EXAMPLES: dict[str, Problem] = {
    "401": NO_SESSION,
    "403": forbidden(Role.OPERATOR),
    "404": problems.from_error(_NOBODY),
    "408": TOO_SLOW,
    "409": problems.from_error(_BUSY),
    "413": TOO_LARGE,
    "415": WRONG_MEDIA,
    "422": _UNFIT,
    "429": TOO_MANY,
    "default": problems.INTERNAL,
}
_WORDS = {
    "401": "No session, or it has ended.", "403": "Not for this session, or from a foreign page or name.",
    "404": "Nobody knows what is named.", "408": "It took too long to arrive.", "409": "Not now.",
    "413": "Too large.", "415": "Not JSON.", "422": "It does not fit.", "429": "Too fast.",
    "default": "Anything else that is refused or fails.",
}  # fmt: skip


def refusal(status: str, example: Problem | None = None) -> dict[str, Any]:
    """The description of one refusal."""
    shown = json.loads((example or EXAMPLES[status]).body())
    schema = {"$ref": "#/components/schemas/Problem"}
    return {"description": _WORDS[status], "content": {problems.MEDIA_TYPE: {"schema": schema, "example": shown}}}


def refusals(method: str, path: str, operation: dict[str, Any], free: bool) -> dict[str, Any]:
    """Every refusal of one operation; `free`: it asks for no session."""
    if method == "get" and free:
        return {"403": refusal("403"), "default": refusal("default")}
    wanted = ["403", "default"] if free else ["401", "403", "default"]
    if "{" in path or operation.get("parameters"):
        wanted += ["404", "409", "422"]
    if method == "post":
        wanted += ["404", "408", "409", "413", "415", "422", "429"]
    found = {status: refusal(status) for status in sorted(set(wanted))}
    return {**found, "403": refusal("403", BAD_CODE)} if free else found
