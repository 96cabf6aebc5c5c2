"""`rigd rolls describe` and its neighbours: what is told about single frames, and the names of their files."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import click
import msgspec
from msgspec import UnsetType

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.portions import portions, summed
from rigd.commands.rolls import rolls
from rigd.commands.rolls_fix import some_options
from rigd.commands.rolls_options import about_changes, about_options
from rigd.commands.tables import text_of, write_new
from rigd.config import Settings
from rigd.errors import InputError
from rigd.model.metadata import AboutChanges
from rigd.operations import describing, frame_table, naming
from rigd.operations.counting import OfRoll
from rigd.operations.describing import Described, FrameLine
from rigd.operations.naming import Names
from rigd.operations.verbs import Verbs


@rolls.command()
@some_options
@about_options
@job_option
@json_option
@runs
async def describe(
    roll: str | None, strips: str, frames: str, ids: tuple[str, ...], root: Path, as_json: bool, **said: Any
) -> None:
    """Say something of single frames of ROLL: title, place, dates. What is not said is inherited from the roll."""
    changes = about_changes(said)
    if isinstance(changes, UnsetType):
        raise InputError("Nothing was said.", "", 'Such as: --frames 3-5 --title "North quay".')
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(describing.DESCRIBE, describing.Describing(roll, strips, frames, ids, changes))
    show(done, as_json, lambda: [f"{len(done.frames)} frames described."])


@rolls.command()
@click.argument("roll", required=False)
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path), required=False)
@job_option
@json_option
@runs
async def about(roll: str | None, file: Path | None, root: Path, as_json: bool) -> None:
    """Write what is told about the frames of ROLL as a table (CSV) to FILE or to the screen; with --json, or a FILE
    that ends so, as JSON. `rigd rolls describe-from` takes it over again."""
    async with reach(root, Settings()) as verbs:
        found = await verbs.do(describing.ABOUT, OfRoll(roll))
    if as_json or (file is not None and file.suffix == ".json"):
        text = msgspec.json.format(msgspec.json.encode(found)).decode() + "\n"
    else:
        text = frame_table.written(found)
    if file is None:
        click.echo(text, nl=False)
    else:
        await asyncio.to_thread(write_new, file, text)


@rolls.command("describe-from")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--check", is_flag=True, help="Only look whether it fits.")
@job_option
@json_option
@runs
async def describe_from(file: Path, check: bool, root: Path, as_json: bool) -> None:
    """Take over what FILE tells about frames: a table (CSV) or JSON, as `rigd rolls about` writes it."""
    body = await asyncio.to_thread(file.read_bytes)
    lines = _from_json(body) if file.suffix == ".json" else frame_table.read(text_of(file.name, body))
    async with reach(root, Settings()) as verbs:
        done = await _taken_over(verbs, lines, check)
    would = "would be " if check else ""
    show(done, as_json, lambda: [f"{done.changed} frames {would}described, {done.same} are just so already."])


@rolls.command()
@click.argument("roll", required=False)
@click.option("--template", help="Another one than the job's, such as {roll}_{frame:03}{part}.")
@click.option("--all", "all_rolls", is_flag=True, help="Look at all names, not at the first twenty.")
@job_option
@json_option
@runs
async def names(roll: str | None, template: str | None, all_rolls: bool, root: Path, as_json: bool) -> None:
    """Show the names that the files of ROLL, or of all rolls, would get at delivery, and whether these can be."""
    async with reach(root, Settings()) as verbs:
        args = naming.Naming(roll, template, 10_000_000 if all_rolls else 20)
        found = await verbs.do(naming.NAMES, args)
    show(found, as_json, lambda: _names(found))


async def _taken_over(verbs: Verbs, lines: list[FrameLine], check: bool) -> Described:
    """All portions are looked at before the first is taken over."""
    parts = list(portions(lines))
    done = [await verbs.do(describing.DESCRIBE_ALL, describing.FrameTable(part, check=True)) for part in parts]
    if not check:
        done = [await verbs.do(describing.DESCRIBE_ALL, describing.FrameTable(part)) for part in parts]
    return summed(Described, done)  # type: ignore[no-any-return]


class _Told(msgspec.Struct):
    frame_id: str
    own: AboutChanges


def _from_json(body: bytes) -> list[FrameLine]:
    try:
        found = msgspec.json.decode(body, type=list[_Told])
    except msgspec.DecodeError as error:
        raise InputError("The file does not fit.", f"{error}.", "Write one with rigd rolls about.") from None
    return [FrameLine(number, one.frame_id, one.own) for number, one in enumerate(found, 1)]


def _names(found: Names) -> list[str]:
    lines = [f"{one.path} -> {one.name}" for one in found.names]
    lines += [f"... {found.files - len(found.names)} more"] if found.files > len(found.names) else []
    lines += [f"{f.what}\n  do:  {f.remedy}" for f in found.findings]
    return [*lines, f"Template {found.template}: {found.files} files" + ("." if found.findings else ", all names fit.")]
