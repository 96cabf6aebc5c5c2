"""The same verbs at a desk of this process and by HTTP at a running daemon, on a job without a camera."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path

from tests.unit.server.serving import served

from rigd.client import remote_verbs
from rigd.operations.desk import Desk
from rigd.operations.verbs import LocalVerbs, Verbs

WAYS = ["alone", "daemon"]


@dataclass
class Job:
    """An open job: its desk, and the verbs as a command reaches them."""

    desk: Desk
    verbs: Verbs


@contextlib.asynccontextmanager
async def job(way: str, root: Path) -> AsyncIterator[Job]:
    async with served(root) as running:
        desk = running.house.desk
        if way == "alone":
            yield Job(desk, LocalVerbs(desk))
            return
        async with remote_verbs(running.url, running.house.book.run_token()) as verbs:
            yield Job(desk, verbs)
