"""Which files on the camera's card belong to which take."""

from __future__ import annotations

from collections.abc import Iterable

from rigd.model.state import State
from rigd.model.values import CardFile


def claimed_files(state: State) -> list[CardFile]:
    """Every card file that belongs to a take already."""
    takes = [*state.loose.values(), *(t for r in state.rolls.values() for t in r.takes.values())]
    return [f for t in takes for f in t.files]


def among(file: CardFile, others: Iterable[CardFile]) -> bool:
    return any(_same(file, other) for other in others)


def _same(one: CardFile, other: CardFile) -> bool:
    """Names on a card repeat and roll over: where both sides tell time or size, these must agree too."""
    if (one.folder, one.name) != (other.folder, other.name):
        return False
    return all(
        a is None or b is None or a == b for a, b in ((one.taken, other.taken), (one.bytes, other.bytes))
    )
