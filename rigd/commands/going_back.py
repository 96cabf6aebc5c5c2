"""`rigd back` and `rigd undo`: to a frame that went wrong, and from a mark that was a mistake."""

from __future__ import annotations

from pathlib import Path

import click

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.config import Settings


@click.command()
@job_option
@json_option
@runs
async def back(root: Path, as_json: bool) -> None:
    """Go back to the frame before: the next trigger takes it again, and the film goes on where it was."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.back()
    show(done, as_json, lambda: [f"Back at {done.target}: lay it into the gate and trigger, or: rigd skip."])


@click.command()
@job_option
@json_option
@runs
async def undo(root: Path, as_json: bool) -> None:
    """Take back the last mark; the one before it counts, or what rigd found."""
    async with reach(root, Settings()) as verbs:
        await verbs.undo()
    show({"undone": True}, as_json, lambda: ["The last mark is taken back."])
