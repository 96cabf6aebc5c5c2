"""`rigd rolls`: the rolls of a job, one after the other."""

from __future__ import annotations

from pathlib import Path

import click

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.config import Settings
from rigd.model.tally import Tally
from rigd.operations.rolls import RollLine


@click.group()
def rolls() -> None:
    """The rolls of a job."""


@rolls.command("list")
@job_option
@json_option
@runs
async def list_(root: Path, as_json: bool) -> None:
    """Every roll with its tally."""
    async with reach(root, Settings()) as verbs:
        found = await verbs.list_rolls()
    show(found, as_json, lambda: [_roll_line(line) for line in found] or ["No rolls yet."])


@rolls.command("open")
@click.argument("roll")
@job_option
@json_option
@runs
async def open_roll(roll: str, root: Path, as_json: bool) -> None:
    """Make a roll (id or label) the current one."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.open_roll(roll_id=roll)
    show(done, as_json, lambda: [f"Open: {done.label}"])


def tally_words(t: Tally) -> str:
    """The tally as a sentence."""
    parts = {
        "pictures": t.pictures, "unexposed": t.unexposed, "fogged": t.fogged, "skipped": t.skipped,
        "missing": t.missing, "retaken": t.retaken, "suspect": t.suspect,
    }  # fmt: skip
    counted = ", ".join(f"{n} {word}" for word, n in parts.items() if n or word in ("pictures", "missing"))
    return f"{counted}; expected {'unknown' if t.expected is None else t.expected}; {t.takes} takes"


def _roll_line(line: RollLine) -> str:
    mark = ">" if line.current else ("x" if line.closed else " ")
    return f"{mark} {line.roll.roll_id}  {line.roll.label}  {line.roll.film_format}  {tally_words(line.tally)}"
