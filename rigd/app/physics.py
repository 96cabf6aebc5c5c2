"""How much of a cycle's time is physics: what no program can make shorter.

Physics = settle + exposure as the wire shows it + bare transfer of the file by the simulator's wire log + LibRaw's
bare unpack of the same file. Overhead = the rest, as a share of the cycle from trigger to advance.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import rawpy

from rigd.model.events import Advanced, Committed, Settled, Stored, Triggered

# ISO 15740 codes: InitiateCapture, GetObject, GetPartialObject; the event CaptureComplete.
CAPTURE, _TRANSFERS, _COMPLETE = 0x100E, (0x1009, 0x101B), 0x400D

Wire = Sequence[Mapping[str, Any]]
Interval = tuple[float, float]
"""From when to when, seconds since the epoch."""


def overhead_pct(events: Sequence[Committed], wire: Wire, root: Path) -> float:
    """Share of the cycles' time that is not physics, in per cent of the cycles' time. 0.0 without any cycle.

    Args:
        events: the ledger's events.
        wire: the simulator's wire log of the same time.
        root: the job's folder; every stored file is unpacked once more.
    """
    cycles = cycle_seconds(events)
    if cycles <= 0:
        return 0.0
    physics = settle_seconds(events) + exposure_seconds(wire) + transfer_seconds(wire) + unpack_seconds(events, root)
    return 100.0 * (cycles - physics) / cycles


def cycle_seconds(events: Iterable[Committed]) -> float:
    """From each trigger to the advance that ended it, added up."""
    total, began = 0.0, None
    for committed in events:
        if isinstance(committed.event, Triggered) and committed.event.frame_id:
            began = committed.at
        elif isinstance(committed.event, Advanced) and began is not None:
            total, began = total + (committed.at - began).total_seconds(), None
    return total


def settle_seconds(events: Iterable[Committed]) -> float:
    """All waits for stillness before frames, added up."""
    return sum(c.event.waited_s for c in events if isinstance(c.event, Settled) and c.event.frame_id)


def exposure_seconds(wire: Wire) -> float:
    """From each capture operation to its completion event, added up."""
    total, began = 0.0, None
    for entry in wire:
        if entry["kind"] == "operation" and entry["code"] == CAPTURE:
            began = entry["start"]
        elif entry["kind"] == "event" and entry["code"] == _COMPLETE and began is not None:
            total, began = total + entry["end"] - began, None
    return total


def transfer_seconds(wire: Wire) -> float:
    """The responder's own time in transfers of objects: no time between the requests is counted."""
    return float(sum(e["end"] - e["start"] for e in wire if e["kind"] == "operation" and e["code"] in _TRANSFERS))


def unpack_seconds(events: Iterable[Committed], root: Path) -> float:
    """LibRaw's unpack of every stored take of a frame, measured now, page cache warm."""
    return sum(_unpack(root / c.event.path) for c in events if isinstance(c.event, Stored) and _of_frame(c.event))


def _of_frame(event: Stored) -> bool:
    return "/" in event.path and not event.path.startswith("set-up/")


def _unpack(path: Path) -> float:
    began = time.perf_counter()
    with rawpy.RawPy() as raw:
        raw.open_file(str(path))
        raw.unpack()
    return time.perf_counter() - began
