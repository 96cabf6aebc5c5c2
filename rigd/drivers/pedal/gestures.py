"""Short, long and double presses as pure functions of timed edges, so that one pedal can do everything.

A recogniser is asked again at `again_at` if no edge comes before: what a pedal means also depends on time passing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

Gesture = Literal["short", "long", "double"]


class Edge(Struct, frozen=True):
    """The contact closed (`down`) or opened, at that many seconds of some clock."""

    at: float
    down: bool


class Timing(Struct, frozen=True):
    """Seconds. `debounce`: contacts bounce for up to 40 ms (common practice: 30 to 50). A press of `long` or more is a
    long one; a second press within `double` after the first ended makes a double one. None: that gesture is not in
    use, and a short press is told the earlier for it (with neither, at the moment the pedal goes down)."""

    debounce: float = 0.04
    long: float | None = 0.6
    double: float | None = 0.3


class Found(Struct, frozen=True):
    """A gesture and when it began (the first edge)."""

    gesture: Gesture
    at: float


class Heard(Struct, frozen=True):
    """`found` gestures in order; `rest`: the steady edges still undecided; `again_at`: when to ask again (or None)."""

    found: tuple[Found, ...]
    rest: tuple[Edge, ...]
    again_at: float | None


def steady(edges: Sequence[Edge], now: float, debounce: float) -> tuple[tuple[Edge, ...], float | None]:
    """Edges without their bounces, and the time at which a hidden change would show (None if none is pending).

    The first change counts at once; what follows within `debounce` is bounce. If the contact rests in the other state
    when that time is over, that change counts then. `edges` begin with the contact open.
    """
    kept: list[Edge] = []
    down, quiet_until, raw = False, float("-inf"), False
    for edge in [*edges, Edge(now, _last_state(edges))]:
        if edge.at >= quiet_until and raw != down:
            kept.append(Edge(quiet_until, raw))
            down, quiet_until = raw, quiet_until + debounce
        raw = edge.down
        if edge.at >= quiet_until and raw != down:
            kept.append(edge)
            down, quiet_until = raw, edge.at + debounce
    return tuple(kept), quiet_until if raw != down else None


def _last_state(edges: Sequence[Edge]) -> bool:
    return edges[-1].down if edges else False


def gestures(edges: Sequence[Edge], now: float, timing: Timing) -> Heard:
    """What these steady edges, beginning with a press and taking turns, mean at time `now`."""
    found: list[Found] = []
    rest = tuple(edges)
    while rest:
        one, used, again_at = _first(rest, now, timing)
        if not used:
            return Heard(tuple(found), rest, again_at)
        found += [one] if one else []
        rest = rest[used:]
    return Heard(tuple(found), (), None)


def _first(edges: Sequence[Edge], now: float, timing: Timing) -> tuple[Found | None, int, float | None]:
    """The first gesture, how many edges it takes up (0: undecided), and when it is decided without another edge."""
    first = edges[0]
    if not first.down:
        return None, 1, None  # the end of a press that was told before
    if timing.long is None and timing.double is None:
        return Found("short", first.at), 1, None
    if len(edges) == 1:
        return _held(first, now, timing)
    up = edges[1]
    if timing.long is not None and up.at >= first.at + timing.long:
        return Found("long", first.at), 2, None
    return _released(edges, now, timing)


def _held(first: Edge, now: float, timing: Timing) -> tuple[Found | None, int, float | None]:
    if timing.long is None:
        return None, 0, None
    if now >= first.at + timing.long:
        return Found("long", first.at), 1, None
    return None, 0, first.at + timing.long


def _released(edges: Sequence[Edge], now: float, timing: Timing) -> tuple[Found | None, int, float | None]:
    first, up = edges[0], edges[1]
    if timing.double is None:
        return Found("short", first.at), 2, None
    until = up.at + timing.double
    if len(edges) > 2:
        return (Found("double", first.at), 3, None) if edges[2].at < until else (Found("short", first.at), 2, None)
    return (Found("short", first.at), 2, None) if now >= until else (None, 0, until)
