"""An open job, spoken to both ways."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from tests.unit.operations.both_ways import WAYS, Job, job

from rigd.model.words import BaseType


@pytest.fixture(params=WAYS)
async def open_job(request: pytest.FixtureRequest, tmp_path: Path) -> AsyncIterator[Job]:
    """A job that was just begun, film on safety base."""
    async with job(request.param, tmp_path) as found:
        await found.verbs.open_job(title="survey of the quays", default_base=BaseType.SAFETY)
        yield found
