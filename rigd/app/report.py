"""The end of a roll in figures: what the demo prints and writes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from rigd.model.events import Advanced, Committed, Triggered
from rigd.model.state import FrameState, RollState, State
from rigd.model.tally import tally


class FrameReport(Struct, frozen=True):
    """One frame: its number on the roll, what the film shows, the keeper's word, shutter and file, and how many takes
    it took. `path` is absolute; without a keeper, path and sha256 are empty."""

    frame: int
    film: str
    take: str
    shutter_s: float
    takes: int
    path: str
    sha256: str
    bytes: int
    why: str
    off_stops: float | None


class RollReport(Struct, frozen=True):
    """One roll. `seconds` from the first trigger to the last advance; `overhead_pct` as `physics` defines it."""

    roll: str
    expected: int | None
    pictures: int
    unexposed: int
    missing: int
    takes: int
    seconds: float
    seconds_per_frame: float
    overhead_pct: float
    frames: tuple[FrameReport, ...]


def roll_report(state: State, events: Sequence[Committed], overhead: float, root: Path) -> RollReport:
    """The report of the current roll of the job in `root`."""
    roll = state.roll
    assert roll is not None, "a report needs a roll"
    counts, seconds = tally(roll), _working_seconds(events)
    lines = tuple(_line(number, f, roll, root) for number, f in enumerate(_in_order(roll), 1))
    return RollReport(
        roll=roll.roll.label,
        expected=counts.expected,
        pictures=counts.pictures,
        unexposed=counts.unexposed,
        missing=counts.missing,
        takes=counts.takes,
        seconds=round(seconds, 2),
        seconds_per_frame=round(seconds / max(1, len(lines)), 2),
        overhead_pct=round(overhead, 1),
        frames=lines,
    )


def _in_order(roll: RollState) -> list[FrameState]:
    return sorted(roll.frames.values(), key=lambda f: (roll.strips[f.frame.strip_id].number, f.frame.place))


def _line(number: int, frame: FrameState, roll: RollState, root: Path) -> FrameReport:
    keeper = roll.takes[frame.keeper[0]] if frame.keeper else None
    verdict = keeper.verdict if keeper else None
    return FrameReport(
        frame=number,
        film=frame.film or "",
        take=verdict.take if verdict else "",
        shutter_s=keeper.want.shutter_s if keeper else 0.0,
        takes=len(frame.takes),
        path=str((root / keeper.path).resolve()) if keeper else "",
        sha256=keeper.sha256 if keeper else "",
        bytes=keeper.bytes if keeper else 0,
        why=verdict.why if verdict else "",
        off_stops=round(verdict.level.off_stops, 2) if verdict and verdict.level else None,
    )


def _working_seconds(events: Sequence[Committed]) -> float:
    triggers = [c.at for c in events if isinstance(c.event, Triggered)]
    ends = [c.at for c in events if isinstance(c.event, Advanced)]
    return (ends[-1] - triggers[0]).total_seconds() if triggers and ends else 0.0
