"""Checkpoints: opening from one gives the full fold; one that is not whole is passed over."""

from __future__ import annotations

import asyncio
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.ledger.ledgers import opened, quick_folder, story, whole_state
from tests.unit.model.histories import histories

from rigd import paths
from rigd.ledger import checkpoint
from rigd.ledger.book import LONG_TAIL
from rigd.model.events import Committed, Paused, Resumed
from rigd.model.reduce import fold
from rigd.model.state import REDUCER_VERSION


def changed(root: Path, *statements: str) -> None:
    with sqlite3.connect(paths.ledger_file(root)) as db:
        for statement in statements:
            db.execute(statement)
    db.close()


def asked(root: Path, query: str) -> list[tuple[object, ...]]:
    db = sqlite3.connect(paths.ledger_file(root))
    try:
        return db.execute(query).fetchall()
    finally:
        db.close()


@settings(max_examples=40, deadline=None)
@given(histories, st.lists(st.integers(0, 120), max_size=6), st.sampled_from([0, 1, 64]))
def test_checkpoints_and_the_rest_give_the_full_fold(events: list[Committed], cuts: list[int], in_hand: int) -> None:
    """With checkpoints, and with openings, at any places; with all rolls in hand, or hardly any."""

    async def portion(root: Path, first: int, last: int, more: int) -> None:
        async with opened(root, in_hand) as ledger:
            assert await whole_state(ledger) == fold(await ledger.read())
            if events[first:last]:
                await ledger.append(*(c.event for c in events[first:last]))
            await ledger.checkpoint()
            assert len(ledger.state.rolls) <= max(4, in_hand)
            for committed in events[last:more]:
                await ledger.append(committed.event)

    async def whole() -> None:
        with quick_folder() as folder:
            places = [0, *sorted(min(cut, len(events)) for cut in cuts), len(events)]
            places += [len(events)] * (len(places) % 2 == 0)
            for first, last, more in zip(places[::2], places[1::2], places[2::2], strict=False):
                await portion(Path(folder), first, last, more)
            async with opened(Path(folder), in_hand) as ledger:
                assert await whole_state(ledger) == fold(await ledger.read())
                assert [c.event for c in await ledger.read()] == [c.event for c in events[: places[-1]]]

    asyncio.run(whole())


async def three_checkpoints(root: Path) -> None:
    async with opened(root) as ledger:
        for portion in range(3):
            await ledger.append(*story(300)[100 * portion : 100 * portion + 100])
            await ledger.checkpoint()


async def test_two_checkpoints_are_kept_and_no_copy_that_neither_needs(tmp_path: Path) -> None:
    await three_checkpoints(tmp_path)
    assert asked(tmp_path, "SELECT seq FROM checkpoint ORDER BY seq") == [(200,), (300,)]
    copies = asked(tmp_path, "SELECT max(n) FROM (SELECT count(*) AS n FROM checkpoint_roll GROUP BY roll_id)")
    assert copies <= [(3,)]


@pytest.mark.parametrize(
    ("statements", "start"),
    [
        ((), 300),
        (("UPDATE checkpoint SET body = x'00' WHERE seq = 300",), 200),
        (("UPDATE checkpoint SET crc = crc + 1 WHERE seq = 300",), 200),
        (("UPDATE checkpoint_roll SET body = zeroblob(length(body)) WHERE seq = 300",), 200),
        (("DELETE FROM checkpoint_roll",), 0),
        (("DELETE FROM checkpoint",), 0),
        ((f"UPDATE checkpoint SET reducer_version = {REDUCER_VERSION + 1}",), 0),
    ],
)
async def test_a_checkpoint_that_is_not_whole_is_passed_over(
    tmp_path: Path, statements: tuple[str, ...], start: int
) -> None:
    await three_checkpoints(tmp_path)
    changed(tmp_path, *statements)
    db = sqlite3.connect(paths.ledger_file(tmp_path))
    found = checkpoint.newest(db, 300)
    db.close()
    assert (found.seq if found else 0) == start
    async with opened(tmp_path) as ledger:
        assert ledger.state == fold(await ledger.read())
        await ledger.append(Paused("a"))
    async with opened(tmp_path) as ledger:
        assert ledger.state == fold(await ledger.read())


async def test_closing_leaves_a_checkpoint(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(30))
    assert asked(tmp_path, "SELECT seq FROM checkpoint") == [(30,)]


async def test_only_rolls_that_changed_are_written_again(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(300))
        assert len(ledger.state.rolls) > 1
        await ledger.checkpoint()
        await ledger.append(Paused("a"))
        await ledger.checkpoint()
    assert asked(tmp_path, "SELECT DISTINCT seq FROM checkpoint_roll") == [(300,)]


async def test_a_long_day_is_checkpointed_by_itself(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        for _ in range(LONG_TAIL // 500 + 1):
            await ledger.append(*(Paused("a"), Resumed("a")) * 250)
        await ledger.read(limit=1)  # behind whatever the last append queued
        await ledger.backup(tmp_path / "copy")
    db = sqlite3.connect(tmp_path / "copy")
    assert db.execute("SELECT max(seq) >= ? FROM checkpoint", (LONG_TAIL,)).fetchone() == (1,)
    db.close()
