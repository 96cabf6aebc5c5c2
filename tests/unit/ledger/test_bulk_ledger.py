"""The ledger that the benchmark writes in bulk is the one that appending would have written."""

from __future__ import annotations

import itertools
import sqlite3
from datetime import timedelta
from pathlib import Path

from tests.speed.ledger_bulk import START, TAKES, events_of, write_ledger
from tests.unit.ledger.ledgers import opened, quick_folder, whole_state

from rigd import paths
from rigd.ledger import Ledger
from rigd.ledger.projection import TABLES
from rigd.model.reduce import fold

ROLLS = 2


def rows(root: Path) -> dict[str, list[tuple[object, ...]]]:
    db = sqlite3.connect(paths.ledger_file(root))
    try:
        tables = (*TABLES, "event")
        return {table: db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall() for table in tables}
    finally:
        db.close()


async def appended(root: Path) -> None:
    """Event by event through the ledger itself, each with its own time."""
    known = list(events_of(ROLLS * TAKES))
    seconds = iter(range(len(known) + 1))
    ledger = await Ledger.open(root, lambda: START + timedelta(seconds=next(seconds)))
    try:
        for one in known:
            await ledger.append(one.event)
    finally:
        await ledger.close()


async def test_a_ledger_written_in_bulk_equals_one_that_was_appended_to() -> None:
    with quick_folder() as folder:
        bulk, grown = Path(folder) / "bulk", Path(folder) / "grown"
        write_ledger(bulk, ROLLS * TAKES)
        await appended(grown)
        assert rows(bulk) == rows(grown)


async def test_its_checkpoint_is_the_fold_of_its_events(tmp_path: Path) -> None:
    write_ledger(tmp_path, ROLLS * TAKES)
    async with opened(tmp_path) as ledger:
        assert ledger.state.seq == len(await ledger.read())  # nothing was left to fold
        assert await whole_state(ledger) == fold(await ledger.read())
        takes = itertools.chain.from_iterable(roll.takes for roll in (await whole_state(ledger)).rolls.values())
        assert len(list(takes)) == ROLLS * TAKES
