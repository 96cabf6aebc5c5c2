"""JSON schemas of the domain's own types: of what verbs are told and give, of the fold, and of the live line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec

from rigd.model.state import RollState
from rigd.operations.verb import Verb
from rigd.server.wire import live

_REF = "#/components/schemas/{name}"
# Answers that go out as they are, by their address.
ANSWERS: dict[str, Any] = {"/api/state": live.Snapshot, "/api/rolls/{roll_id}/whole": RollState}
LINES: tuple[Any, ...] = (live.FromServer, live.FromClient)


class Schemas:
    """Made in one go: two types of one name get longer ones."""

    def __init__(self, verbs: Iterable[Verb[Any, Any]]) -> None:
        kinds = [kind for verb in verbs for kind in (verb.args, verb.gives)] + [*ANSWERS.values(), *LINES]
        found, self.components = msgspec.json.schema_components(kinds, ref_template=_REF)
        self._of = list(zip(kinds, found, strict=True))

    def of(self, kind: Any) -> dict[str, Any]:
        """The schema of a type that a verb is told or gives, or that is sent as it is; mostly a reference."""
        return next(schema for known, schema in self._of if known is kind or known == kind)

    def whole(self, schema: dict[str, Any]) -> dict[str, Any]:
        """What a reference leads to."""
        name = schema.get("$ref", "").rpartition("/")[2]
        return self.components[name] if name else schema
