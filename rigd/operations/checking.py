"""What is connected, what is missing, and what to do about it."""

from __future__ import annotations

from rigd.engine.foresight_past import outlook
from rigd.errors import NotReady
from rigd.operations.desk import CheckLine, CheckReport, CheckState, Desk

__all__ = ["CheckLine", "CheckReport", "CheckState", "check", "report_of"]


def report_of(lines: list[CheckLine]) -> CheckReport:
    """The report of these lines."""
    return CheckReport(tuple(lines), sum(line.state == "missing" for line in lines))


async def check(desk: Desk) -> CheckReport:
    """Look at the camera, its settings, its card, and the disk. Nothing is changed.

    Raises:
        NotReady: this desk has no camera.
    """
    if desk.survey is None:
        raise NotReady("No camera is in use here.", "", "Run: rigd check, or start: rigd run.")
    async with desk.engine().camera_between_orders():
        found = await desk.survey()
    return report_of([*found.lines, CheckLine("first shutter", "ok", outlook(desk.state))])
