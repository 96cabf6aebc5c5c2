"""For tests of the ledger: opening one, and stories to fill it with."""

from __future__ import annotations

import contextlib
import random
import tempfile
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from msgspec.structs import replace
from tests.unit.model.histories import history

from rigd.ledger import Ledger
from rigd.model.events import AnyEvent
from rigd.model.state import State

START = datetime(2031, 3, 9, 20, 0, tzinfo=UTC)


def ticking() -> Callable[[], datetime]:
    """A clock that goes on by a second with each look at it."""
    seconds = iter(range(1 << 30))
    return lambda: START + timedelta(seconds=next(seconds))


@contextlib.asynccontextmanager
async def opened(root: Path, in_hand: int = 64) -> AsyncIterator[Ledger]:
    """The ledger in `root`, closed at the end of the block."""
    ledger = await Ledger.open(root, ticking(), in_hand)
    try:
        yield ledger
    finally:
        await ledger.close()


async def whole_state(ledger: Ledger) -> State:
    """The state with every roll in hand, as the full fold has it."""
    rolls = [await ledger.look.roll(line.roll_id) for line in await ledger.look.lines()]
    return replace(ledger.state, rolls={roll.roll.roll_id: roll for roll in rolls if roll is not None})


def quick_folder() -> tempfile.TemporaryDirectory[str]:
    """A folder in memory where there is such a place: for many commits whose durability is not the question."""
    return tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None)


def story(length: int, seed: int = 7) -> list[AnyEvent]:
    """`length` events that could happen one after the other."""
    numbers = random.Random(seed)
    return [c.event for c in history(numbers.randrange(1 << 20) for _ in range(length - 1))]
