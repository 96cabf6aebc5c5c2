"""Whatever fits the description, and much that does not, sent to every operation: nothing fails inside, and what comes
back is what is described. By schemathesis, which knows nothing of ours; few examples each, always the same ones."""

from __future__ import annotations

import asyncio
import contextlib
import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode, checks
from schemathesis.core.failures import FailureGroup
from tests.flow.hostile.attacks import target
from tests.unit.server.serving import Served

# What ends the session that is asking, and the WebSocket, which is no request and answer.
LEFT_OUT = ["/api/session/end", "/api/live"]
LOOKED_AT = [
    checks.not_a_server_error, checks.status_code_conformance, checks.content_type_conformance,
    checks.response_schema_conformance, checks.response_headers_conformance,
]  # fmt: skip
EXAMPLES = 7


@dataclass
class Elsewhere:
    """A served job in a thread of its own, so that requests may block."""

    folder: Path
    running: Served | None = None

    def __post_init__(self) -> None:
        self._ready = threading.Event()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._serve()))

    def __enter__(self) -> Served:
        self._thread.start()
        assert self._ready.wait(60)
        assert self.running is not None
        return self.running

    def __exit__(self, *_: object) -> None:
        self._loop.call_soon_threadsafe(self._end.set)
        self._thread.join(60)

    async def _serve(self) -> None:
        self._loop, self._end = asyncio.get_running_loop(), asyncio.Event()
        async with target(self.folder) as self.running:
            self._ready.set()
            await self._end.wait()


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[Served]:
    with Elsewhere(tmp_path) as running:
        yield running


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
def test_nothing_that_is_sent_fails_inside(elsewhere: Served, mode: GenerationMode) -> None:
    """Every operation, with what fits (positive) and with what does not (negative)."""
    told = without_tuples(json.loads(json.dumps(elsewhere.house.app.openapi())))
    described = schemathesis.openapi.from_dict(told).exclude(path=LEFT_OUT)
    failed, asked = [], 0
    for found in described.get_all_operations():
        operation = found.ok()
        asked += 1
        try:
            sent(operation, mode, elsewhere)
        except FailureGroup as failure:
            failed.append(f"{operation.label}: {failure.exceptions}")
    assert asked > 70
    assert not failed, "\n".join(failed)


def without_tuples(schema: Any) -> Any:
    """The same, with lists in the place of tuples (all of ours hold one type): schemathesis rewrites `prefixItems` in
    place for its generator, and then finds its own description invalid."""
    if isinstance(schema, list):
        return [without_tuples(one) for one in schema]
    if not isinstance(schema, dict):
        return schema
    plain = {key: without_tuples(one) for key, one in schema.items()}
    if "prefixItems" in plain:
        plain["items"] = {"anyOf": plain.pop("prefixItems")}
    return plain


def sent(operation: Any, mode: GenerationMode, elsewhere: Served) -> None:
    """Send some cases of one operation, each by a session of its own. Raises FailureGroup."""

    @settings(
        max_examples=EXAMPLES, derandomize=True, database=None, deadline=None, phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=operation.as_strategy(generation_mode=mode))
    def one(case: Any) -> None:
        headers = {"Authorization": f"Bearer {elsewhere.house.book.run_token()}", "Connection": "close"}
        case.call_and_validate(base_url=elsewhere.url, headers=headers, checks=LOOKED_AT, timeout=30)

    with contextlib.suppress(Unsatisfiable):  # what takes nothing cannot be told anything wrong
        one()
