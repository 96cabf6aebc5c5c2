"""For all tests: nothing may be left behind, and on request nothing may be left out (see tests/plugins)."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

pytest_plugins = ["rigd_leaks", "rigd_no_skips", "pytester"]


@pytest.fixture(scope="session", autouse=True)
def state_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test, and no program that one starts, may write among this user's own jobs and pairings."""
    before = os.environ.get("XDG_STATE_HOME")
    os.environ["XDG_STATE_HOME"] = str(tmp_path_factory.mktemp("state"))
    yield
    if before is None:
        del os.environ["XDG_STATE_HOME"]
    else:
        os.environ["XDG_STATE_HOME"] = before
