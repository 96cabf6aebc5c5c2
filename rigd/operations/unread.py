"""Files that nobody has read back since they were stored."""

from __future__ import annotations

from rigd.operations.desk import Desk

_AT_ONCE = 1000


async def count_unread(desk: Desk) -> int:
    """How many there are. Costs time in proportion to that."""
    count, last = 0, ""
    while page := await desk.hub.look.unread(last, _AT_ONCE):
        count, last = count + len(page), page[-1]
    return count
