"""Keeps the edges of one pedal until they mean something."""

from __future__ import annotations

from rigd.drivers.pedal.gestures import Edge, Found, Timing, gestures, steady


class Recogniser:
    """Feed it raw edges and the passing of time; it returns what has become certain.

    Edges are given back as they are decided: what is kept is one press and its bounces at most.
    """

    def __init__(self, timing: Timing) -> None:
        self._timing = timing
        self._raw: list[Edge] = []
        self._decided = 0
        self.again_at: float | None = None
        """When to call `pass_time` if no edge comes before."""

    def edge(self, edge: Edge) -> tuple[Found, ...]:
        """A raw edge. One that repeats the state before it (an auto-repeat, a lost edge) is no edge."""
        if (self._raw[-1].down if self._raw else False) == edge.down:
            return ()
        self._raw.append(edge)
        return self.pass_time(edge.at)

    def pass_time(self, now: float) -> tuple[Found, ...]:
        """It is `now`, in the edges' clock."""
        kept, hidden_until = steady(self._raw, now, self._timing.debounce)
        heard = gestures(kept[self._decided :], now, self._timing)
        self._decided = len(kept) - len(heard.rest)
        times = [time for time in (hidden_until, heard.again_at) if time is not None]
        self.again_at = min(times, default=None)
        self._forget(kept, now)
        return heard.found

    def reset(self) -> None:
        """The source is gone or has lost edges: the pedal counts as let go, and nothing half-done counts."""
        self._raw.clear()
        self._decided = 0
        self.again_at = None

    def _forget(self, kept: tuple[Edge, ...], now: float) -> None:
        """Once the contact is open, quiet and all is decided, there is nothing to remember."""
        settled = not kept or (not kept[-1].down and now >= kept[-1].at + self._timing.debounce)
        if self._raw and not self._raw[-1].down and settled and self._decided == len(kept):
            self._raw.clear()
            self._decided = 0
