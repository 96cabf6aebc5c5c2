"""One owner: the second process is told who the first one is; a killed one holds nothing."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.ledger.ledgers import opened

from rigd import paths
from rigd.errors import LedgerHeld
from rigd.model.events import Paused

# Owns the ledger and appends until it is killed; each acknowledged event is a line on its output.
OWNER = """
import asyncio, sys
from datetime import UTC, datetime
from pathlib import Path
from rigd.ledger import Ledger
from rigd.model.events import Paused

async def main():
    ledger = await Ledger.open(Path(sys.argv[1]), lambda: datetime.now(UTC))
    print("open", flush=True)
    while True:
        for committed in await ledger.append(Paused(f"operator {ledger.state.seq}")):
            print(committed.seq, flush=True)

asyncio.run(main())
"""


@contextlib.contextmanager
def owner(root: Path) -> Iterator[subprocess.Popen[str]]:
    """A process that owns the ledger in `root`; it is killed at the end of the block at the latest."""
    process = subprocess.Popen([sys.executable, "-c", OWNER, str(root)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    with process.stdout:
        assert process.stdout.readline() == "open\n"
        try:
            yield process
        finally:
            process.kill()
            process.wait()


async def test_a_second_process_is_told_who_holds_it_and_since_when(tmp_path: Path) -> None:
    with owner(tmp_path) as process:
        with pytest.raises(LedgerHeld) as told:
            async with opened(tmp_path):
                pass
        since = json.loads(paths.lock_file(tmp_path).read_text())["since"]
        assert f"process {process.pid} since {since[:16]}" in str(told.value)


async def test_the_same_process_cannot_own_it_twice(tmp_path: Path) -> None:
    async with opened(tmp_path):
        with pytest.raises(LedgerHeld, match=f"process {os.getpid()}"):
            async with opened(tmp_path):
                pass
    async with opened(tmp_path):
        pass


@pytest.mark.parametrize("acknowledged", [1, 7, 50, 111])
async def test_a_killed_owner_leaves_every_acknowledged_event_and_no_lock(tmp_path: Path, acknowledged: int) -> None:
    with owner(tmp_path) as process:
        assert process.stdout is not None
        seen = [int(process.stdout.readline()) for _ in range(acknowledged)]
        process.send_signal(signal.SIGKILL)
        seen += [int(line) for line in process.stdout if line.endswith("\n")]
        process.wait()
    async with opened(tmp_path) as ledger:
        await ledger.check()
        kept = await ledger.read()
        assert [c.seq for c in kept][: len(seen)] == seen
        assert len(kept) in (len(seen), len(seen) + 1)  # the last may be committed and not told any more
        assert all(c.event == Paused(f"operator {c.seq - 1}") for c in kept)
        await ledger.append(Paused("after"))
