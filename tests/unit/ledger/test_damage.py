"""A ledger that is not what was written is not taken for one."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.ledger.ledgers import opened, story

from rigd import paths
from rigd.errors import LedgerDamaged, LedgerTooNew
from rigd.model.events import Paused


@contextlib.contextmanager
def by_hand(root: Path) -> Iterator[sqlite3.Connection]:
    """The file of a closed ledger, without the triggers that keep events as they are."""
    db = sqlite3.connect(paths.ledger_file(root))
    db.execute("DROP TRIGGER event_stays")
    db.execute("DROP TRIGGER event_is_kept")
    db.execute("DELETE FROM checkpoint")
    yield db
    db.commit()
    db.close()


async def written(root: Path, events: int = 60) -> None:
    async with opened(root) as ledger:
        await ledger.append(*story(events))


@pytest.mark.parametrize(
    ("statement", "error", "says"),
    [
        ("DELETE FROM event WHERE seq = 30", LedgerDamaged, "event 30 is missing"),
        ("UPDATE event SET body = substr(body, 1, 20) WHERE seq = 30", LedgerDamaged, "event 30 cannot be read"),
        ("UPDATE event SET body = CAST(x'FF00FE' AS TEXT) WHERE seq = 30", LedgerDamaged, "event 30 cannot be read"),
        ("UPDATE event SET at = 'yesterday' WHERE seq = 30", LedgerDamaged, "event 30 cannot be read"),
        ("""UPDATE event SET body = '{"type":"Paused"}' WHERE seq = 30""", LedgerDamaged, "event 30 cannot be read"),
        ("""UPDATE event SET body = '{"type":"Rinsed"}' WHERE seq = 30""", LedgerTooNew, "kind Rinsed"),
    ],
)
async def test_a_record_that_is_not_as_it_was_is_found(
    tmp_path: Path, statement: str, error: type[Exception], says: str
) -> None:
    await written(tmp_path)
    with by_hand(tmp_path) as db:
        db.execute(statement)
    with pytest.raises(error, match=says):
        async with opened(tmp_path):
            pass


async def test_the_whole_check_finds_what_a_checkpoint_hides_at_opening(tmp_path: Path) -> None:
    await written(tmp_path)
    db = sqlite3.connect(paths.ledger_file(tmp_path))
    with db:
        db.execute("DROP TRIGGER event_is_kept")
        db.execute("DELETE FROM event WHERE seq = 30")
    db.close()
    async with opened(tmp_path) as ledger:
        with pytest.raises(LedgerDamaged, match="event 30"):
            await ledger.check()


@pytest.mark.parametrize("page", range(1, 6))
async def test_a_page_of_noise_is_found(tmp_path: Path, page: int) -> None:
    await written(tmp_path, 200)
    with paths.ledger_file(tmp_path).open("r+b") as file:
        file.seek(4096 * page)
        file.write(bytes(range(256)) * 16)
    with pytest.raises(LedgerDamaged):
        async with opened(tmp_path):
            pass


async def test_a_ledger_that_lost_its_end_while_open_is_refused(tmp_path: Path) -> None:
    """As if an older copy had been put in its place."""
    root = tmp_path / "job"
    async with opened(root) as ledger:
        await ledger.append(Paused("one"))
        await ledger.backup(tmp_path / "older")
        await ledger.append(Paused("two"))
        (tmp_path / "older").replace(paths.ledger_file(root))
        with pytest.raises(LedgerDamaged, match="ends at event 1, but event 2"):
            await ledger.reopen()
        with pytest.raises(LedgerDamaged, match="takes no more events"):
            await ledger.append(Paused("refused"))
