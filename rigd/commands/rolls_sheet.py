"""`rigd rolls sheet`: contact sheets into files."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Literal

import click
from msgspec import Struct

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.rolls import rolls
from rigd.config import Settings
from rigd.errors import InputError, StoreError
from rigd.operations import sheets
from rigd.operations.sheets import Sheet, SheetOf
from rigd.operations.verbs import Verbs

Form = Literal["pdf", "png"]
_FORMS: dict[str, Form] = {".pdf": "pdf", ".png": "png"}


class Written(Struct, frozen=True):
    """What was written of one roll: where, how many pages, how many frames, and how many of these are blank."""

    roll: str
    files: tuple[str, ...]
    pages: int
    frames: int
    blank: dict[str, str]


@rolls.command("sheet")
@click.argument("roll", nargs=-1)
@click.option("--to", type=click.Path(path_type=Path), help="A file .pdf or .png, or a folder.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True)
@click.option("--all", "whole", is_flag=True, help="One sheet for each roll of the job.")
@click.option("--png", is_flag=True, help="Pictures instead of PDF, where no file name says so.")
@click.option("--replace", is_flag=True, help="Write over files of the same name.")
@job_option
@json_option
@runs
async def sheet(
    roll: tuple[str, ...], to: Path | None, paper: Literal["A4", "Letter"], whole: bool, png: bool, replace: bool,
    root: Path, as_json: bool,
) -> None:  # fmt: skip
    """Contact sheet of ROLL (the current one by default): positives by strip, with numbers, verdicts and what is told.

    A PNG of several pages becomes several files, numbered before the suffix.
    """
    folder, file = _target(to, many=whole or len(roll) > 1)
    form = _form(file) if file else "png" if png else "pdf"
    done: list[Written] = []
    async with reach(root, Settings()) as verbs:
        async for name in _names(verbs, roll, whole):
            found = await verbs.do(sheets.SHEET, SheetOf(name, paper, form))
            written = await asyncio.to_thread(_write, found, folder, file, form, replace)
            done.append(written)
            if not as_json:
                click.echo("\n".join(_lines(written)))
    if as_json or not done:
        show(done, as_json, lambda: ["No rolls yet."])


async def _names(verbs: Verbs, named: tuple[str, ...], whole: bool) -> AsyncIterator[str | None]:
    if whole:
        for line in await verbs.list_rolls():
            yield line.roll.roll_id
        return
    for name in named or (None,):
        yield name


def _target(to: Path | None, many: bool) -> tuple[Path, Path | None]:
    """The folder, and the file where one is named."""
    if to is None or to.is_dir() or to.suffix.lower() not in _FORMS:
        if to is not None and to.suffix and not to.is_dir():
            raise InputError(f"A sheet cannot be written as {to.suffix}.", "", "Name a .pdf or .png, or a folder.")
        return to or Path(), None
    if many:
        raise InputError("Several rolls do not fit into one file.", f"{to} is one.", "Name a folder with --to.")
    return to.parent, to


def _form(file: Path) -> Form:
    return _FORMS[file.suffix.lower()]


def _write(found: Sheet, folder: Path, file: Path | None, form: Form, replace: bool) -> Written:
    stem = folder / (file.stem if file else found.name)
    many = len(found.files) > 1
    paths = [stem.with_name(f"{stem.name}{f'-{n}' if many else ''}.{form}") for n in range(1, len(found.files) + 1)]
    there = [path for path in paths if path.exists()]
    if there and not replace:
        raise InputError(f"There is a file {there[0]} already.", "It may be somebody's.", "Add --replace, or use --to.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, data in zip(paths, found.files, strict=True):
            path.write_bytes(data)
    except OSError as error:
        raise StoreError(f"The sheet of {found.roll} could not be written.", f"{error}.", "Use --to.") from error
    return Written(found.roll, tuple(map(str, paths)), found.pages, found.frames, found.blank)


def _lines(written: Written) -> list[str]:
    pages = f"{written.pages} page{'' if written.pages == 1 else 's'}"
    lines = [f"{', '.join(written.files)}: {written.roll}, {written.frames} frames, {pages}"]
    return [*lines, *(f"  no picture of {frame_id}: {why}" for frame_id, why in written.blank.items())]
