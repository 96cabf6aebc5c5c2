"""Which files on the camera's card belong to which take."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigd.hub import Hub
from rigd.model.values import CardFile


async def claimed_files(hub: Hub, files: Iterable[CardFile]) -> list[CardFile]:
    """Every card file with the name of one of these that belongs to a take already."""
    return await hub.look.claimed(file.name for file in files)


async def unclaimed_files(hub: Hub, files: Sequence[CardFile]) -> list[CardFile]:
    """Those of the files that belong to no take."""
    known = await claimed_files(hub, files)
    return [file for file in files if not among(file, known)]


def among(file: CardFile, others: Iterable[CardFile]) -> bool:
    return any(_same(file, other) for other in others)


def _same(one: CardFile, other: CardFile) -> bool:
    """Names on a card repeat and roll over: where both sides tell time or size, these must agree too."""
    if (one.folder, one.name) != (other.folder, other.name):
        return False
    return all(
        a is None or b is None or a == b for a, b in ((one.taken, other.taken), (one.bytes, other.bytes))
    )
