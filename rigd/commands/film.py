"""`rigd job`: the commission that a folder holds, and the set-up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from msgspec import UNSET

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.exposing_options import exposing_changes, exposing_options, exposing_words
from rigd.commands.rolls_options import about_changes, job_about_options
from rigd.config import Settings
from rigd.model.words import BaseType
from rigd.operations import plans


@click.group()
def job() -> None:
    """The commission that a folder holds."""


@job.command("open")
@click.argument("title")
@click.option("--base", type=click.Choice([b.value for b in BaseType]), default="unknown", show_default=True,
              help="Film base of the job's rolls, where a roll says nothing else.")  # fmt: skip
@job_option
@json_option
@runs
async def open_(title: str, base: str, root: Path, as_json: bool) -> None:
    """Begin a job in the folder, or change its title."""
    async with reach(root, Settings(), new=True) as verbs:
        done = await verbs.open_job(title=title, default_base=BaseType(base))
    show(done, as_json, lambda: [f"Job: {done.title}"])


@job.command("change")
@click.option("--title")
@click.option("--base", type=click.Choice([b.value for b in BaseType]))
@click.option("--names", help="Template of the file names at delivery, such as {roll}_{frame:03}{part}.")
@exposing_options
@job_about_options
@job_option
@json_option
@runs
async def change(
    title: str | None, base: str | None, names: str | None, root: Path, as_json: bool, **said: Any
) -> None:
    """Change the job: what is told about all of its pictures, names at delivery, the base of its film."""
    args = plans.JobChange(
        title=UNSET if title is None else title, default_base=UNSET if base is None else BaseType(base),
        names=UNSET if names is None else names, about=about_changes(said),
        exposing=exposing_changes(said),
    )  # fmt: skip
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(plans.CHANGE_JOB, args)
    show(done, as_json, lambda: [f"Job: {done.title}{exposing_words(done.exposing)}"])


@job.command("setup")
@click.option("--holder", default="", help="Film holder.")
@click.option("--lens", default="")
@click.option("--f-number", type=float, default=8.0, show_default=True)
@click.option("--iso", type=int, default=100, show_default=True)
@click.option("--lamp", default="")
@job_option
@json_option
@runs
async def setup(holder: str, lens: str, f_number: float, iso: int, lamp: str, root: Path, as_json: bool) -> None:
    """Record the set-up as it stands; the lamp must then be measured again."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.describe_setup(holder=holder, lens=lens, f_number=f_number, iso=iso, lamp=lamp)
    show(done, as_json, lambda: [f"Set-up {done.setup_id} recorded."])
