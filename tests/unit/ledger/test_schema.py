"""Ledgers of every schema number that ever was still open, and say what they said."""

from __future__ import annotations

import re
import shutil
import sqlite3
from pathlib import Path

import pytest
from tests.unit.ledger.ledgers import START, opened

from rigd import paths
from rigd.errors import LedgerDamaged, LedgerTooNew
from rigd.ledger.connection import connect
from rigd.ledger.schema import STEPS, V1, migrate
from rigd.model import events as ev
from rigd.model.tally import Tally
from rigd.model.words import Film, Stage

KEPT = Path(__file__).parents[2] / "data" / "ledgers"
NUMBERS = sorted(int(path.stem[1:]) for path in KEPT.glob("v*.sqlite"))


def test_a_ledger_of_every_number_is_kept() -> None:
    assert list(range(1, len(STEPS) + 1)) == NUMBERS


@pytest.mark.parametrize("number", NUMBERS)
async def test_an_old_ledger_opens_and_says_what_it_said(tmp_path: Path, number: int) -> None:
    shutil.copy(KEPT / f"v{number}.sqlite", paths.ledger_file(tmp_path))
    async with opened(tmp_path) as ledger:
        await ledger.check()
        events = await ledger.read()
        (totals,) = await ledger.look.lines()
        state = ledger.state
        await ledger.append(ev.Paused("today"))
    # By hand from the list of events in make.py.
    count, kinds = {1: (44, 31), 2: (63, 48)}[number]
    assert [c.seq for c in events] == list(range(1, count + 1))
    assert len({type(c.event) for c in events}) == kinds
    assert state.job is not None
    assert state.job.title == "Harbour office, survey negatives"
    assert totals.tally == Tally(3, 1, 1, 0, 1, 0, 1, {1: 0, 2: 1}[number], 0, 2)
    assert totals.closed
    assert state.rolls["r-1"].frames["f-2"].film is Film.UNEXPOSED
    take = state.take("t-000002")
    assert take is not None
    assert (take.stage, take.sha256, take.verified) == (Stage.JUDGED, f"{2:064x}", True)


@pytest.mark.parametrize("number", NUMBERS)
def test_an_old_ledger_can_be_read_without_this_program(number: int) -> None:
    """With nothing but SQLite: the archive outlives rigd."""
    db = sqlite3.connect(KEPT / f"v{number}.sqlite")
    try:
        row = db.execute("SELECT at, body FROM event WHERE type = 'Stored' ORDER BY seq DESC LIMIT 1").fetchone()
        assert re.fullmatch(r"2031-03-09T20:00:\d\d\+00:00", row[0])
        assert '"path":"Pier_7/Pier_7-001-003-01.dng"' in row[1]
        assert db.execute("SELECT pictures, unexposed, skipped, missing FROM roll_totals").fetchone() == (1, 1, 1, 1)
    finally:
        db.close()


async def test_a_ledger_of_a_newer_rigd_is_left_alone(tmp_path: Path) -> None:
    async with opened(tmp_path) as ledger:
        await ledger.append(ev.Paused("a"))
    with sqlite3.connect(paths.ledger_file(tmp_path)) as db:
        db.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    db.close()
    before = paths.ledger_file(tmp_path).read_bytes()
    with pytest.raises(LedgerTooNew, match="newer rigd"):
        async with opened(tmp_path):
            pass
    assert paths.ledger_file(tmp_path).read_bytes() == before


def test_a_migration_goes_through_each_number_or_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    db = connect(tmp_path / "ledger")
    try:
        migrate(db, START, (V1,))
        db.execute("INSERT INTO event VALUES (1, 'then', 'Paused', '{}')")
        add, broken = ("ALTER TABLE take ADD COLUMN lens TEXT",), ("CREATE TABLE fresh (a)", "NO STATEMENT")
        with pytest.raises(sqlite3.OperationalError, match="syntax"):
            migrate(db, START, (V1, add, broken))
        assert db.execute("PRAGMA user_version").fetchone() == (2,)
        assert db.execute("SELECT name FROM sqlite_master WHERE name = 'fresh'").fetchone() is None
        assert migrate(db, START, (V1, add, ("CREATE TABLE fresh (a)",))) == 2
        assert db.execute("SELECT lens FROM take").fetchall() == []
        assert db.execute("SELECT at FROM event").fetchall() == [("then",)]
    finally:
        db.close()


@pytest.mark.parametrize(
    "content",
    [b"not a database, but long enough to be taken for one at first sight".ljust(4096), "CREATE TABLE other (a)"],
)
async def test_a_file_that_is_no_ledger_is_refused_and_kept(tmp_path: Path, content: bytes | str) -> None:
    place = paths.ledger_file(tmp_path)
    if isinstance(content, bytes):
        place.write_bytes(content)
    else:
        with sqlite3.connect(place) as db:
            db.execute(content)
        db.close()
    before = place.read_bytes()
    with pytest.raises(LedgerDamaged):
        async with opened(tmp_path):
            pass
    assert place.read_bytes() == before
