"""What a connection is waited for: each thing has its time, and the first one that is over ends the connection."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Protocol


class Waits:
    """Times by what is waited for. `now`: seconds that never go back."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self._until: dict[str, float] = {}

    def begin(self, what: str, seconds: float) -> None:
        """Wait for it so long at most; what is waited for already keeps its time."""
        self._until.setdefault(what, self._now() + seconds)

    def end(self, what: str) -> None:
        """It has come, or is wanted no more."""
        self._until.pop(what, None)

    @property
    def over(self) -> bool:
        """True if something has not come in its time."""
        now = self._now()
        return any(now >= until for until in self._until.values())


class Connection(Protocol):
    """A connection that is waited for."""

    transport: Any
    waits: Waits


# What is left to send when a connection is closed is a few kilobytes: a peer that does not take it is gone, or hostile.
LEAVING_SECONDS = 10.0


def cut_overdue(connections: Iterable[Connection]) -> None:
    """Cut those that let us wait too long. One that is closed, and whose peer does not take the rest, is one of them:
    it would hold its place for ever."""
    for one in tuple(connections):
        if one.transport.is_closing():
            one.waits.begin("leaving", LEAVING_SECONDS)
        if one.waits.over:
            one.transport.abort()
