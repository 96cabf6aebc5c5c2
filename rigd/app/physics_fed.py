"""How much of a motor-fed strip's time is physics: settle, exposure, film travel, bare transfer, bare unpack.

The whole stretch from a strip's first trigger to its last advance counts, all that lies between two frames too.
Physics is counted strictly: the film's rest no longer than the set-up asks for, travel only while the motor turned.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rigd.app.physics import CAPTURE, Interval, Wire, exposure_seconds, transfer_seconds, unpack_seconds
from rigd.model.events import Advanced, Committed, ExposureIntended, Settled, Triggered
from rigd.model.events_feed import FilmEnded


def fed_overhead_pct(
    events: Sequence[Committed], wire: Wire, root: Path, motions: Sequence[Interval], still_s: float
) -> float:
    """Share of the strips' time that is not physics, in per cent. 0.0 without any strip.

    Args:
        events, wire, root: as `overhead_pct`.
        motions: when the motor turned.
        still_s: how long the film must have lain still before an exposure.
    """
    strips = strip_intervals(events)
    whole = sum(end - begin for begin, end in strips)
    if whole <= 0:
        return 0.0
    frames = sum(isinstance(c.event, ExposureIntended) and c.event.frame_id is not None for c in events)
    own = _since_last(wire, frames)
    parts = parts_of(events, own, root, motions, still_s)
    return 100.0 * (whole - sum(parts.values())) / whole


def parts_of(
    events: Sequence[Committed], wire: Wire, root: Path, motions: Sequence[Interval], still_s: float
) -> dict[str, float]:
    """Seconds of each kind of physics; `wire` holds the frames' own exposures alone."""
    return {
        "settle": rest_seconds(events, still_s),
        "exposure": exposure_seconds(wire),
        "travel": travel_seconds(strip_intervals(events), motions),
        "transfer": transfer_seconds(wire),
        "unpack": unpack_seconds(events, root),
    }


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
    """How long the film had to lie still before exposures, at most `still_s` each."""
    settled = [c.event for c in events if isinstance(c.event, Settled) and c.event.frame_id]
    return sum(min(one.waited_s if one.rest_s is None else one.rest_s, still_s) for one in settled)


def travel_seconds(strips: Sequence[Interval], motions: Sequence[Interval]) -> float:
    """Seconds of motions that lie within strips."""
    return sum(
        max(0.0, min(end, stop) - max(begin, start)) for begin, end in strips for start, stop in motions
    )


def _since_last(wire: Wire, captures: int) -> Wire:
    """The wire log from the last so many captures on: those before them were of the open gate."""
    starts = [entry["start"] for entry in wire if entry["kind"] == "operation" and entry["code"] == CAPTURE]
    if not captures or len(starts) < captures:
        return []
    first = starts[-captures]
    return [entry for entry in wire if entry.get("start", entry.get("end", 0.0)) >= first]
