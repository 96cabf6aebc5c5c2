"""`rigd rolls unclaimed` and its neighbours: files that belong to no take."""

from __future__ import annotations

from pathlib import Path

import click

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.rolls import rolls
from rigd.config import Settings
from rigd.operations import claiming, verifying
from rigd.operations.claiming import Stray
from rigd.operations.verb import Nothing


@rolls.command()
@job_option
@json_option
@runs
async def unclaimed(root: Path, as_json: bool) -> None:
    """Files that belong to no take."""
    async with reach(root, Settings()) as verbs:
        found = await verbs.do(claiming.UNCLAIMED, Nothing())
    show(found, as_json, lambda: [_line(stray) for stray in found] or ["None."])


@rolls.command()
@click.argument("path")
@click.argument("frame")
@job_option
@json_option
@runs
async def assign(path: str, frame: str, root: Path, as_json: bool) -> None:
    """Say that the unclaimed file PATH is a take of FRAME."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(claiming.ASSIGN, claiming.OfFrame(path, frame))
    show(done, as_json, lambda: [f"{done.take_id} of {done.frame_id}: {done.path}"])


@rolls.command()
@click.argument("path")
@click.argument("why")
@job_option
@json_option
@runs
async def dismiss(path: str, why: str, root: Path, as_json: bool) -> None:
    """Say that the unclaimed file PATH is of no use, and WHY. It stays where it lies."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(claiming.DISMISS, claiming.OfNoUse(path, why))
    show(done, as_json, lambda: [f"Noted: {done.path}"])


@rolls.command()
@click.argument("roll", required=False)
@job_option
@json_option
@runs
async def papers(roll: str | None, root: Path, as_json: bool) -> None:
    """Write sidecars, frames.csv, roll.json and checksums of ROLL, or of all rolls, where they are behind.

    rigd does so by itself when nothing else is to be done.
    """
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(verifying.PAPERS, verifying.PapersOf(roll))
    show(done, as_json, lambda: ["The folders say what the ledger says."])


def _line(stray: Stray) -> str:
    said = f"  (of no use: {stray.dismissed})" if stray.dismissed else ""
    return f"{stray.path}  {stray.bytes} bytes  {stray.why}{said}"
