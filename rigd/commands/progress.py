"""The demo's progress in a terminal: one line a frame as the ledger tells it, and the table at the end."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.table import Table

from rigd.app.report import RollReport
from rigd.model.events import Committed, ExposureIntended, Judged, KeeperChosen, LampMeasured, StripLoaded, Troubled
from rigd.model.units import shutter_words
from rigd.operations.desk import Desk


async def follow(desk: Desk, console: Console) -> None:
    """Print what happens until cancelled."""
    listener = desk.hub.subscribe()
    try:
        async for item in listener:
            if isinstance(item, Committed):
                line = _line(desk, item)
                if line:
                    console.print(line, highlight=False)
    finally:
        desk.hub.leave(listener)


def _line(desk: Desk, committed: Committed) -> str | None:
    event = committed.event
    match event:
        case LampMeasured():
            return "Lamp measured through the open gate."
        case StripLoaded():
            return f"Strip {event.strip.number}"
        case ExposureIntended() if event.frame_id:
            return f"  {_place(desk, event.frame_id)}  take {event.number}, {shutter_words(event.want.shutter_s)}"
        case Judged():
            return f"      {event.decision}: {event.why}"
        case KeeperChosen():
            return f"      {event.film}, safe."
        case Troubled():
            return f"      Needs you: {event.what} {event.remedy}"
        case _:
            return None


def _place(desk: Desk, frame_id: str) -> str:
    roll = desk.state.roll_of(frame_id)
    return f"frame {list(roll.frames).index(frame_id) + 1:>2}" if roll else frame_id


def table(report: RollReport) -> Table:
    """The roll in figures."""
    counts = f"{report.pictures} pictures + {report.unexposed} unexposed of {report.expected}, {report.missing} missing"
    pace = f"{report.takes} takes in {report.seconds:.0f} s, {report.seconds_per_frame:.1f} s a frame"
    caption = f"{pace}; {report.overhead_pct:.1f} % of the cycles is not physics"
    shown = Table(title=f"{report.roll}: {counts}", caption=caption)
    for heading, side in (
        ("frame", "right"), ("film", "left"), ("take", "left"), ("shutter", "right"), ("takes", "right"),
        ("off by", "right"), ("file", "left"), ("sha256", "left"),
    ):  # fmt: skip
        shown.add_column(heading, justify="right" if side == "right" else "left")
    for f in report.frames:
        off = f"{f.off_stops:+.2f}" if f.off_stops is not None else ""
        shutter, name = shutter_words(f.shutter_s), Path(f.path).name
        shown.add_row(str(f.frame), f.film, f.take, shutter, str(f.takes), off, name, f.sha256[:12])
    return shown
