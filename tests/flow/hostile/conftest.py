"""One served job for each hostile test."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from tests.flow.hostile.attacks import target
from tests.unit.server.serving import Served


@pytest.fixture
async def running(tmp_path: Path) -> AsyncIterator[Served]:
    async with target(tmp_path) as found:
        yield found
