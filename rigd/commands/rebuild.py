"""`rigd rebuild`: the ledger anew from the folders of a job."""

from __future__ import annotations

from pathlib import Path

import click

from rigd.app.reach import rebuilt
from rigd.commands.common import job_option, json_option, runs, show
from rigd.operations.rebuilding import RebuiltLedger


@click.command()
@click.option("--replace", is_flag=True, help="Also where there is a ledger; it is kept under another name.")
@job_option
@json_option
@runs
async def rebuild(replace: bool, root: Path, as_json: bool) -> None:
    """Build the ledger anew from the folders of the job, where it is lost or damaged. No picture is touched."""
    done = await rebuilt(root, replace)
    show(done, as_json, lambda: _lines(done))


def _lines(done: RebuiltLedger) -> list[str]:
    lines = [f"{done.rolls} rolls, {done.frames} frames, {done.files} files."]
    lines += [f"  the ledger before: {done.kept}"] if done.kept else []
    lines += [f"  missing: {path}" for path in done.missing]
    lines += [f"  without papers, look at it: {path}" for path in done.without]
    lines += [f"  cannot be read: {what}" for what in done.unread]
    return [*lines, "Now read every file back: rigd verify."]
