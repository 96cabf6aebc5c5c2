"""`rigd rolls plan` and its neighbours: rolls planned, changed, dropped, and whole tables of them."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path
from typing import Any

import click
import msgspec
from msgspec.structs import replace

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.exposing_options import exposing_options, exposing_words
from rigd.commands.portions import portions, summed
from rigd.commands.rolls import rolls
from rigd.commands.rolls_options import about_options, roll_changes, roll_options
from rigd.commands.tables import text_of, write_new
from rigd.config import Settings
from rigd.errors import InputError
from rigd.model.exposing import said
from rigd.model.formats import FORMATS
from rigd.model.values import Job, Roll
from rigd.model.words import BaseType
from rigd.operations import plans
from rigd.operations.plan_table import PlanLine, read, written
from rigd.operations.plans import TakenOver
from rigd.operations.verbs import Verbs


@rolls.command()
@click.argument("label")
@roll_options
@exposing_options
@about_options
@job_option
@json_option
@runs
async def plan(label: str, root: Path, as_json: bool, **said: Any) -> None:
    """Add a roll: LABEL is what its sleeve or box says.

    In a terminal the film's base is asked for where --base does not say it; else it is the job's.
    """
    async with reach(root, Settings()) as verbs:
        if said["base"] is None and not as_json and sys.stdin.isatty():
            said["base"] = _asked_base((await verbs.status()).state.job)
        done = await verbs.do(plans.PLAN, plans.NewRoll(roll_changes(label, said)))
    show(done, as_json, lambda: [_told(done)])


@rolls.command()
@click.argument("roll")
@click.option("--label", help="What its sleeve or box says.")
@roll_options
@exposing_options
@about_options
@job_option
@json_option
@runs
async def change(roll: str, label: str | None, root: Path, as_json: bool, **said: Any) -> None:
    """Change what is planned or known of ROLL (id or label), at any time."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(plans.CHANGE, plans.RollChange(roll, roll_changes(label, said)))
    show(done, as_json, lambda: [_told(done)])


@rolls.command()
@click.argument("roll")
@click.option("--why", default="")
@job_option
@json_option
@runs
async def drop(roll: str, why: str, root: Path, as_json: bool) -> None:
    """Take ROLL off the plan; one that has frames stays."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(plans.DROP, plans.RollNamed(roll, why))
    show(done, as_json, lambda: [f"Dropped: {done.label}"])


@rolls.command()
@click.argument("roll")
@click.argument("word")
@job_option
@json_option
@runs
async def heed(roll: str, word: str, root: Path, as_json: bool) -> None:
    """Give your WORD that the film of ROLL may run by itself, and on what grounds.

    For film whose base is unknown. Nitrate film never runs by itself, whatever anybody says.
    """
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(plans.HEED, plans.Word(roll, word))
    show(done, as_json, lambda: [f"Noted for {done.label}."])


@rolls.command()
@click.argument("film_format", type=click.Choice(list(FORMATS)))
@click.argument("exposures", type=int, required=False)
@job_option
@json_option
@runs
async def suggest(film_format: str, exposures: int | None, root: Path, as_json: bool) -> None:
    """How many frames to expect of a format, and how it is usually cut."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(plans.SUGGEST, plans.Asked(film_format, exposures))
    show(done, as_json, lambda: [done.why])


@rolls.command("import")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--check", is_flag=True, help="Only look whether it fits.")
@job_option
@json_option
@runs
async def import_(file: Path, check: bool, root: Path, as_json: bool) -> None:
    """Plan and change rolls from a table (CSV, as spreadsheets write it) or from JSON. All of it, or nothing.

    `rigd rolls export` writes a table with all columns; a line with a known id or label changes that roll.
    """
    lines = _lines(file.name, await asyncio.to_thread(file.read_bytes))
    async with reach(root, Settings()) as verbs:
        done = await _taken_over(verbs, lines, check)
    would = "would be " if check else ""
    words = f"{done.planned} rolls {would}planned, {done.changed} {would}changed, {done.same} are just so already."
    show(done, as_json, lambda: [words])


@rolls.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path), required=False)
@job_option
@json_option
@runs
async def export(file: Path | None, root: Path, as_json: bool) -> None:
    """Write the plan as a table (CSV) to FILE or to the screen; with --json, or a FILE that ends so, as JSON."""
    async with reach(root, Settings()) as verbs:
        found = [line.roll for line in await verbs.list_rolls()]
    if as_json or (file is not None and file.suffix == ".json"):
        text = msgspec.json.format(msgspec.json.encode(found)).decode() + "\n"
    else:
        text = written(found)
    if file is None:
        click.echo(text, nl=False)
    else:
        await asyncio.to_thread(write_new, file, text)


def _asked_base(job: Job | None) -> str:
    """The operator's word on the film's base: nitrate can burn by itself."""
    usual = (job.default_base if job else BaseType.UNKNOWN).value
    return str(click.prompt("Film base", type=click.Choice([b.value for b in BaseType]), default=usual))


def _told(roll: Roll) -> str:
    count = "" if roll.expected is None else ", " + "-".join(map(str, dict.fromkeys(roll.expected))) + " frames"
    exposed = exposing_words(roll.exposing)
    return f"Roll {roll.roll_id}: {roll.label}, {roll.film_format}, {roll.tone} {roll.colour}{count}{exposed}"


def _lines(name: str, body: bytes) -> list[PlanLine]:
    if name.endswith(".json"):
        return _from_json(body)
    return read(text_of(name, body))


def _from_json(body: bytes) -> list[PlanLine]:
    try:
        found = msgspec.json.decode(body, type=list[Roll])
    except msgspec.DecodeError as error:
        raise InputError("The JSON does not fit.", f"{error}.", "Compare it with: rigd rolls export --json") from None
    return [_exposed(line, roll) for roll in found for line in read(written([roll]))]


def _exposed(line: PlanLine, roll: Roll) -> PlanLine:
    """The table has no columns for how frames are exposed; JSON tells it."""
    return replace(line, changes=replace(line.changes, exposing=said(roll.exposing)))


async def _taken_over(verbs: Verbs, lines: list[PlanLine], check: bool) -> TakenOver:
    """In portions that a daemon takes: all are looked at before the first is taken over."""
    parts = list(portions(lines))
    looked = [await verbs.do(plans.TAKE_OVER, plans.Table(part, check=True)) for part in parts]
    if not check:
        looked = [await verbs.do(plans.TAKE_OVER, plans.Table(part)) for part in parts]
    return summed(TakenOver, looked)  # type: ignore[no-any-return]
