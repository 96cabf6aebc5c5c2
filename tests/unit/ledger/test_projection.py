"""The rows behind the totals say what the fold says, however they came about."""

from __future__ import annotations

import asyncio
import random
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.unit.ledger.ledgers import opened, quick_folder, story
from tests.unit.model.histories import histories

from rigd import paths
from rigd.model.events import Committed
from rigd.model.pace import to_go
from rigd.model.reduce import fold
from rigd.model.tally import tally, total

TABLES = ("roll", "strip", "frame", "take", "card_file", "copy")
Rows = dict[str, list[tuple[object, ...]]]


def rows(root: Path) -> Rows:
    db = sqlite3.connect(paths.ledger_file(root))
    try:
        return {table: db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall() for table in TABLES}
    finally:
        db.close()


async def written(root: Path, events: list[Committed], sizes: random.Random, in_hand: int) -> None:
    """Append in portions of one to nine events; check the lines and the total at the end."""
    async with opened(root, in_hand) as ledger:
        await ledger.look.job()
        rest = [c.event for c in events]
        while rest:
            size = sizes.randrange(1, 10)
            await ledger.append(*rest[:size])
            del rest[:size]
            if sizes.random() < 0.2:
                await ledger.checkpoint()
        rolls = fold(await ledger.read()).rolls
        lines = await ledger.look.lines()
        assert [line.roll_id for line in lines] == list(rolls)
        assert {line.roll_id: line.tally for line in lines} == {key: tally(roll) for key, roll in rolls.items()}
        assert {line.roll_id: (line.roll, line.closed, line.worked_s, line.paced) for line in lines} == {
            key: (roll.roll, roll.closed, roll.worked_s, roll.paced) for key, roll in rolls.items()
        }
        pages = [await ledger.look.lines(after.place - 1, 1) for after in lines]
        assert [one for page in pages for one in page] == lines
        job, summed = await ledger.look.job(), total(tally(roll) for roll in rolls.values())
        assert (job.rolls, job.closed) == (len(rolls), sum(roll.closed for roll in rolls.values()))
        assert job.tally == replace(summed, expected=summed.expected or 0)
        assert sum(done.paced for done in job.done) == sum(roll.paced for roll in rolls.values())
        going = [to_go(roll.roll, tally(roll)) for roll in rolls.values() if not roll.closed]
        assert sum(left.frames for left in job.left) == sum(frames or 0 for frames in going)
        assert sum(left.unknown for left in job.left) == going.count(None)


async def rebuilt(root: Path) -> None:
    async with opened(root) as ledger:
        await ledger.rebuild()


# Each history is some 60 durable commits, thrice.
@settings(max_examples=40, deadline=None)
@given(histories, st.randoms(use_true_random=False), st.sampled_from([0, 1, 64]))
def test_lines_equal_the_tally_and_rows_can_be_built_anew(
    events: list[Committed], sizes: random.Random, in_hand: int
) -> None:
    with quick_folder() as folder:
        root = Path(folder)
        asyncio.run(written(root, events, sizes, in_hand))
        grown = rows(root)
        asyncio.run(rebuilt(root))
        assert rows(root) == grown


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


QUERIES = [
    "SELECT * FROM roll WHERE roll_id = 'r-1'",
    "SELECT * FROM roll WHERE place > 3 ORDER BY place LIMIT 50",
    "SELECT * FROM roll WHERE label = 'Pier'",
    "SELECT take_id FROM take WHERE NOT verified AND NOT lost AND stage IN ('stored', 'judged') AND take_id > 't' "
    "ORDER BY take_id LIMIT 10",
    "SELECT sha256, path FROM take WHERE path > '' AND path >= 'a/' AND path < 'a0' ORDER BY path",
    "SELECT frame_id FROM frame WHERE (suspect OR again OR kind IN ('skipped', 'open')) AND roll_id = 'r-1'",
    "SELECT roll_id FROM frame WHERE frame_id = 'f'",
    "SELECT take_id FROM take WHERE take_id > 't' AND path > '' AND roll_id = 'r-1' ORDER BY +take_id",
    "SELECT body FROM checkpoint_roll WHERE roll_id = 'r-1' AND seq <= 9 ORDER BY seq DESC LIMIT 1",
]


@pytest.mark.parametrize("query", QUERIES)
async def test_nothing_is_looked_through_from_end_to_end(tmp_path: Path, query: str) -> None:
    """The plan of the query, not its time (https://www.sqlite.org/eqp.html): SCAN would be every row."""
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(300))
    db = sqlite3.connect(paths.ledger_file(tmp_path))
    steps = [row[3] for row in db.execute(f"EXPLAIN QUERY PLAN {query}").fetchall()]
    db.close()
    assert steps
    assert not any(step.startswith("SCAN") and "take_unread" not in step for step in steps), steps
