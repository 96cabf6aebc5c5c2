"""The rows behind the totals say what the fold says, however they came about."""

from __future__ import annotations

import asyncio
import random
import sqlite3
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.ledger.ledgers import opened, quick_folder, story
from tests.unit.model.histories import histories

from rigd import paths
from rigd.model.events import Committed
from rigd.model.tally import tally

TABLES = ("roll", "frame", "take")
Rows = dict[str, list[tuple[object, ...]]]


def rows(root: Path) -> Rows:
    db = sqlite3.connect(paths.ledger_file(root))
    try:
        return {table: db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall() for table in TABLES}
    finally:
        db.close()


async def written(root: Path, events: list[Committed], sizes: random.Random) -> None:
    """Append in portions of one to nine events; check the totals at the end."""
    async with opened(root) as ledger:
        rest = [c.event for c in events]
        while rest:
            size = sizes.randrange(1, 10)
            await ledger.append(*rest[:size])
            del rest[:size]
        rolls = ledger.state.rolls
        totals = await ledger.totals()
        assert [t.roll_id for t in totals] == list(rolls)
        assert {t.roll_id: t.tally for t in totals} == {key: tally(roll) for key, roll in rolls.items()}
        assert {t.roll_id: (t.label, t.closed) for t in totals} == {
            key: (roll.roll.label, roll.closed) for key, roll in rolls.items()
        }
        for one in totals:
            assert await ledger.totals(one.roll_id) == (one,)


async def rebuilt(root: Path) -> None:
    async with opened(root) as ledger:
        await ledger.rebuild()


# Each history is some 60 durable commits, thrice.
@settings(max_examples=40, deadline=None)
@given(histories, st.randoms(use_true_random=False))
def test_totals_equal_the_tally_and_rows_can_be_built_anew(events: list[Committed], sizes: random.Random) -> None:
    with quick_folder() as folder:
        root = Path(folder)
        asyncio.run(written(root, events, sizes))
        grown = rows(root)
        asyncio.run(rebuilt(root))
        assert rows(root) == grown


async def test_totals_of_an_unknown_roll_are_empty(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(50))
        assert await ledger.totals("r-unknown") == ()


async def test_rows_of_another_version_are_built_anew_at_opening(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(300))
    grown = rows(tmp_path)
    assert all(grown.values())
    with sqlite3.connect(paths.ledger_file(tmp_path)) as db:
        db.execute("UPDATE meta SET value = '0.0' WHERE key = 'projection'")
        for table in TABLES:
            db.execute(f"DELETE FROM {table}")
    db.close()
    async with opened(tmp_path):
        pass
    assert rows(tmp_path) == grown


def test_one_roll_is_found_by_index_alone(tmp_path: Path) -> None:
    """The plan of the query, not its time: no table is scanned from end to end (https://www.sqlite.org/eqp.html)."""

    async def made() -> None:
        async with opened(tmp_path) as ledger:
            await ledger.append(*story(300))

    asyncio.run(made())
    db = sqlite3.connect(paths.ledger_file(tmp_path))
    plan = db.execute("EXPLAIN QUERY PLAN SELECT * FROM roll_totals WHERE roll_id = 'r-1'").fetchall()
    db.close()
    steps = [row[3] for row in plan]
    assert any("COVERING INDEX frame_of_roll (roll_id=?)" in step for step in steps), steps
    assert any("COVERING INDEX take_of_roll (roll_id=?" in step for step in steps), steps
    assert not any(step.startswith(("SCAN roll", "SCAN frame", "SCAN take")) for step in steps), steps
