"""`rigd find`: rolls of all jobs that this machine knows, down to the shelf."""

from __future__ import annotations

import asyncio
from itertools import groupby

import click

from rigd.commands.common import json_option, runs, show
from rigd.model.found import Found
from rigd.operations.finding_jobs import FindReport, find_everywhere, forget_job


@click.command()
@click.argument("words", nargs=-1)
@click.option("--limit", type=click.IntRange(1, 1000), default=50, show_default=True)
@click.option("--forget", metavar="FOLDER", help="Take a job off the list; its folder is not touched.")
@json_option
@runs
async def find(words: tuple[str, ...], limit: int, forget: str | None, as_json: bool) -> None:
    """Find rolls by WORDS: title, place, date, stock, label, box, in every job that was worked on from this machine.

    All words must be told of a roll, its frames or its job. The disks of the jobs need not be there.
    """
    if forget is not None:
        title = await asyncio.to_thread(forget_job, forget)
        show(title, as_json, lambda: [f"Forgotten: {title}"])
        return
    found = await asyncio.to_thread(find_everywhere, words, limit)
    show(found, as_json, lambda: _lines(found))


def _lines(report: FindReport) -> list[str]:
    lines: list[str] = []
    for (title, root, there), rolls in groupby(report.rolls, key=lambda one: (one.job, one.root, one.there)):
        away = "" if there else "  (not there now: its disk is not mounted, or it was moved)"
        lines += [title, f"  {root}{away}", *(line for one in rolls for line in _roll(one))]
    if not report.rolls:
        lines.append(f"Nothing of that is told in the {report.jobs} jobs that this machine knows.")
    if report.more:
        lines.append("And more: add a word, or --limit.")
    return [*lines, *(f"What is known of job {name} cannot be read; open the job once." for name in report.unread)]


def _roll(one: Found) -> list[str]:
    about, roll, count = one.about, one.roll, one.tally
    told = [about.title, about.place, about.dates, about.photographer, roll.film_format, about.stock, about.reference]
    blanks = f", {count.unexposed} unexposed" if count.unexposed else ""
    state = "" if one.closed else ", not finished"
    kept = roll.where or "nobody has said where it lies"
    return [
        f"    {roll.label}: {'; '.join(text for text in told if text)}",
        f"      kept in: {kept}   files: {roll.folder}/   {count.pictures} pictures{blanks}{state}",
    ]
