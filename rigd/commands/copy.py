"""`rigd copy` and `rigd card`: the second copy, and clearing the camera's card when it is whole."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from rigd.app.reach import reach
from rigd.commands.common import config_option, job_option, json_option, runs, show
from rigd.commands.rolls_fix import some_options
from rigd.config import Settings, load_settings
from rigd.operations import clearing, copies
from rigd.operations.clearing import Cleared
from rigd.operations.copies import CopyState
from rigd.operations.flagging import Some
from rigd.operations.verb import Nothing


@click.group()
def copy() -> None:
    """The second copy of the job, on another disk."""


@copy.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path), required=False)
@click.option("--none", "nowhere", is_flag=True, help="No second copy any more; what is there stays.")
@click.option("--same-disk", is_flag=True, help="Let it be on the job's own disk, for a try.")
@job_option
@json_option
@runs
async def to(folder: Path | None, nowhere: bool, same_disk: bool, root: Path, as_json: bool) -> None:
    """Make the second copy in FOLDER, on another disk or a mounted share."""
    if (folder is None) != nowhere:
        raise click.UsageError("Name a folder, or say --none.")
    where = "" if folder is None else str(folder.resolve())
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(copies.COPY_TO, copies.CopyTo(where, same_disk))
    show(done, as_json, lambda: _state(done))


@copy.command()
@job_option
@json_option
@runs
async def status(root: Path, as_json: bool) -> None:
    """How many files have a verified second copy."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(copies.LOOK, Nothing())
    show(done, as_json, lambda: _state(done))


@copy.command()
@job_option
@json_option
@runs
async def now(root: Path, as_json: bool) -> None:
    """Make all copies that are due, and wait for their end."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(copies.NOW, Nothing())
    show(done, as_json, lambda: _state(done))


@copy.command()
@job_option
@json_option
@runs
async def verify(root: Path, as_json: bool) -> None:
    """Read every copy back from the other disk; exit code 1 if one is not as it should be."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(copies.VERIFY, Nothing())
    words = [f"{done.files} copies read back, {len(done.bad)} missing or not like their file."]
    show(done, as_json, lambda: [*words, *(f"  {path}" for path in done.bad)])
    if done.bad:
        sys.exit(1)


@click.group()
def card() -> None:
    """The camera's card."""


@card.command("list")
@job_option
@config_option
@json_option
@runs
async def list_(root: Path, config: Path | None, as_json: bool) -> None:
    """How many files lie on the card."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.do(clearing.ON_CARD, Nothing())
    show(done, as_json, lambda: [f"{done.files} files on the card, {done.unclaimed} of no take of this job."])


@card.command()
@some_options
@job_option
@config_option
@json_option
@runs
async def clear(
    roll: str | None, strips: str, frames: str, ids: tuple[str, ...], root: Path, config: Path | None, as_json: bool
) -> None:
    """Erase the files of frames of ROLL from the camera's card, each only after it was read back from both disks."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.do(clearing.CLEAR, Some(roll, strips, frames, ids))
    show(done, as_json, lambda: _cleared(done))


def _state(state: CopyState) -> list[str]:
    if not state.to:
        return ["No second copy: rigd copy to FOLDER."]
    lines = [f"Copied {state.copied} of {state.files} to {state.to}."]
    return [*lines, f"  {state.trouble}"] if state.trouble else lines


def _cleared(done: Cleared) -> list[str]:
    lines = [f"{len(done.frames)} frames are off the card, {len(done.left)} stay on it."]
    return lines + [f"  {one.frame_id}: {one.why}" for one in done.left]
