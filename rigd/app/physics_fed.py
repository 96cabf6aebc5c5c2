"""How much of a motor-fed strip's time is physics: settle, exposure, film travel, bare transfer, bare unpack.

The whole stretch from a strip's first trigger to its last advance counts, all that lies between two frames too.
Physics is counted strictly: the film's rest no longer than the set-up asks for, travel only while the motor turned.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from rigd.app.physics import Interval, Wire, exposure_seconds, transfer_seconds, unpack_seconds
from rigd.model.events import Advanced, Committed, Settled, Triggered
from rigd.model.events_feed import FilmEnded


class StripTime(Struct, frozen=True):
    """One strip: `seconds` from its first trigger to its last advance, and what of that each kind of physics took."""

    seconds: float
    parts: dict[str, float]

    @property
    def overhead_pct(self) -> float:
        """The share that is not physics, in per cent."""
        return 100.0 * (self.seconds - sum(self.parts.values())) / self.seconds


def fed_overhead_pct(strips: Sequence[StripTime]) -> float:
    """Share of the strips' time that is not physics, in per cent. 0.0 without any strip."""
    whole = sum(strip.seconds for strip in strips)
    physics = sum(sum(strip.parts.values()) for strip in strips)
    return 100.0 * (whole - physics) / whole if whole > 0 else 0.0


def strip_times(
    events: Sequence[Committed], wire: Wire, root: Path, motions: Sequence[Interval], still_s: float
) -> list[StripTime]:
    """Each strip's time, in order.

    Args:
        events, wire, root: as `physics.overhead_pct`.
        motions: when the motor turned.
        still_s: how long the film must have lain still before an exposure.
    """
    # The wire log is timed by the monotonic clock, which all processes of a machine share.
    ahead = time.time() - time.monotonic()
    found: list[StripTime] = []
    for begin, end in strip_intervals(events):
        own = [c for c in events if begin <= c.at.timestamp() <= end]
        told = [entry for entry in wire if begin <= entry["start"] + ahead <= end]
        parts = {
            "settle": rest_seconds(own, still_s),
            "exposure": exposure_seconds(told),
            "travel": travel_seconds((begin, end), motions),
            "transfer": transfer_seconds(told),
            "unpack": unpack_seconds(own, root),
        }
        found.append(StripTime(end - begin, parts))
    return found


def strip_intervals(events: Sequence[Committed]) -> list[Interval]:
    """From the first trigger of each strip to its last advance."""
    found: list[Interval] = []
    begin = end = None
    for one in events:
        at = one.at.timestamp()
        if isinstance(one.event, Triggered) and begin is None:
            begin = at
        elif isinstance(one.event, Advanced):
            end = at
        elif isinstance(one.event, FilmEnded) and begin is not None and end is not None:
            found.append((begin, end))
            begin = end = None
    return found


def rest_seconds(events: Sequence[Committed], still_s: float) -> float:
    """How long the film had to lie still before exposures, at most `still_s` each; only what was waited for anew
    where the film had not been moved since."""
    settled = [c.event for c in events if isinstance(c.event, Settled) and c.event.frame_id]
    found, last = 0.0, ""
    for one in settled:
        rested = one.waited_s if one.rest_s is None or one.frame_id == last else one.rest_s
        found, last = found + min(rested, still_s), one.frame_id or ""
    return found


def travel_seconds(strip: Interval, motions: Sequence[Interval]) -> float:
    """Seconds of motions that lie within a strip."""
    begin, end = strip
    return sum(max(0.0, min(end, stop) - max(begin, start)) for start, stop in motions)
