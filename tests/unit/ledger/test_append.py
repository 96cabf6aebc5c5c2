"""Appending: in order, all or nothing, durable before it returns."""

from __future__ import annotations

import asyncio
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.unit.ledger.ledgers import START, opened, story

from rigd import paths
from rigd.errors import InputError, LedgerError, LedgerHeld
from rigd.model.events import AnyEvent, Committed, Paused, Resumed, RollOpened, RollPlanned
from rigd.model.reduce import fold
from rigd.model.values import Roll
from rigd.model.words import Tone


async def test_events_come_back_as_they_were(tmp_path: Path) -> None:
    events = story(300)
    async with opened(tmp_path) as ledger:
        committed = [one for event in events for one in await ledger.append(event)]
        assert await ledger.read() == committed
        assert ledger.state == fold(committed)
    assert [c.event for c in committed] == events
    assert [c.seq for c in committed] == list(range(1, 301))
    async with opened(tmp_path) as ledger:
        assert await ledger.read() == committed
        assert ledger.state == fold(committed)


async def test_reading_begins_and_ends_where_it_is_told(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(*story(20))
        assert [c.seq for c in await ledger.read(after=7, limit=3)] == [8, 9, 10]
        assert [c.seq for c in await ledger.read(after=18)] == [19, 20]
        assert await ledger.read(after=20) == []


async def test_appends_that_overlap_keep_the_order_of_the_calls(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        names = [f"operator {n}" for n in range(50)]
        done = await asyncio.gather(*(ledger.append(Paused(name)) for name in names))
    assert [c.seq for (c,) in done] == list(range(1, 51))
    assert [c.event for (c,) in done] == [Paused(name) for name in names]


async def test_events_of_one_append_get_one_time(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:  # opening looked at the clock once
        committed = await ledger.append(Paused("a"), Resumed("b"))
        later = await ledger.append(Paused("c"))
    assert [c.at - START for c in (*committed, *later)] == [timedelta(seconds=s) for s in (1, 1, 2)]


async def test_what_is_folded_now_is_what_will_be_read_after_a_restart(tmp_path: Path) -> None:
    plain = Roll("r-1", "Q", "Q", "135", "positive", "mono")  # type: ignore[arg-type]  # as a careless caller would
    async with opened(tmp_path) as ledger:
        await ledger.append(RollPlanned(plain))
        assert type(ledger.state.rolls["r-1"].roll.tone) is Tone
        with pytest.raises(InputError, match="cannot be written down"):
            await ledger.append(RollPlanned(replace(plain, roll_id="r-2", tone="sideways")))
        assert list(ledger.state.rolls) == ["r-1"]


async def test_an_event_that_does_not_fit_leaves_no_trace_and_no_grudge(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        with pytest.raises(InputError, match="RollOpened"):
            await ledger.append(Paused("a"), RollOpened("r-unknown"))
        assert (ledger.state.seq, await ledger.read()) == (0, [])
        assert (await ledger.append(Resumed("b")))[0].seq == 1


async def test_nothing_is_told_before_it_can_be_read_from_the_file(tmp_path: Path) -> None:
    told: list[Committed] = []
    async with opened(tmp_path) as ledger:

        def on_commit(committed: tuple[Committed, ...]) -> None:
            assert ledger.state.seq == committed[-1].seq
            told.extend(committed)

        ledger.on_commit = on_commit
        await ledger.append(*story(5))
        await ledger.append()
        assert told == await ledger.read()


async def test_an_append_whose_caller_is_cancelled_is_told_all_the_same(tmp_path: Path) -> None:
    told: list[AnyEvent] = []
    async with opened(tmp_path) as ledger:
        ledger.on_commit = lambda committed: told.extend(c.event for c in committed)
        caller = asyncio.create_task(ledger.append(Paused("a")))
        await asyncio.sleep(0)  # it has asked, and waits now
        caller.cancel()
        with pytest.raises(asyncio.CancelledError):
            await caller
        await ledger.append(Resumed("b"))
        assert told == [Paused("a"), Resumed("b")] == [c.event for c in await ledger.read()]
        assert ledger.state.seq == 2


async def test_events_cannot_be_changed_or_removed_even_by_hand(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(Paused("a"))
    with sqlite3.connect(paths.ledger_file(tmp_path)) as db:
        for statement in ("UPDATE event SET body = '{}'", "DELETE FROM event"):
            with pytest.raises(sqlite3.IntegrityError, match="events are never"):
                db.execute(statement)
    db.close()


async def test_nobody_else_can_open_the_file_not_even_to_read(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(Paused("a"))
        db = sqlite3.connect(paths.ledger_file(tmp_path), timeout=0)
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            db.execute("SELECT count(*) FROM event")
        db.close()


async def test_a_reader_that_came_first_is_named_as_the_reason(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(Paused("a"))
    db = sqlite3.connect(paths.ledger_file(tmp_path), isolation_level=None)
    db.execute("BEGIN")
    db.execute("SELECT * FROM event").fetchone()
    with pytest.raises(LedgerHeld, match="another program"):
        async with opened(tmp_path):
            pass
    db.close()
    async with opened(tmp_path) as ledger:
        assert ledger.state.paused


async def test_a_closed_ledger_says_so(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        pass
    await ledger.close()
    with pytest.raises(LedgerError, match="closed"):
        await ledger.append(Paused("a"))


async def test_an_opening_that_is_cancelled_frees_the_ledger(tmp_path: Path) -> None:
    opening = asyncio.create_task(opened(tmp_path).__aenter__())
    await asyncio.sleep(0)
    opening.cancel()
    with pytest.raises(asyncio.CancelledError):
        await opening
    async with opened(tmp_path) as ledger:
        assert ledger.state.seq == 0


async def test_a_backup_is_a_ledger_of_its_own(tmp_path: Path) -> None:
    async with opened(tmp_path / "job") as ledger:
        await ledger.append(*story(100))
        copy = tmp_path / "copy"
        copy.mkdir()
        await ledger.backup(paths.ledger_file(copy))
        with pytest.raises(InputError):
            await ledger.backup(paths.ledger_file(copy))
        await ledger.append(Paused("later"))
        whole = await ledger.read(limit=100)
    async with opened(copy) as ledger:
        assert await ledger.read() == whole
        assert ledger.state == fold(whole)
