"""The share of each step in the time that a roll took, from the ledger's own times."""

from __future__ import annotations

from collections.abc import Sequence

from rigd.model.events import Advanced, Committed, Exposed, ExposureIntended, Fetched, Judged, Settled, Triggered
from rigd.model.events_watch import Armed

# What has been going on when an event of that kind comes.
_ENDS = {
    Triggered: "film", Settled: "settle", ExposureIntended: "set camera", Exposed: "expose", Fetched: "fetch",
    Judged: "store and judge",
}  # fmt: skip


def roll_seconds(events: Sequence[Committed]) -> float:
    """From the moment the rig is armed, the operator's hands empty, to the last frame's end."""
    ends = [c.at for c in events if isinstance(c.event, Advanced)]
    return (ends[-1] - _begin(events).at).total_seconds()


def steps(events: Sequence[Committed]) -> dict[str, float]:
    """Seconds of each step, in the order of a cycle: `film` is all that lies between a frame's end and the next
    trigger: strips changed, film slid by hand or moved and looked for by the motor."""
    found = dict.fromkeys(_ENDS.values(), 0.0)
    before = _begin(events).at
    for one in events:
        name = _ENDS.get(type(one.event))
        if name is not None and one.at >= before:
            found[name] += (one.at - before).total_seconds()
            before = one.at
    return {name: round(seconds, 2) for name, seconds in found.items()}


def _begin(events: Sequence[Committed]) -> Committed:
    return next(c for c in events if isinstance(c.event, Armed))
