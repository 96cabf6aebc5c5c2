"""`rigd rolls tally` and its neighbours: what is counted, whether it comes out even, and the time that is left."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from msgspec.structs import replace

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.rolls import rolls, tally_words
from rigd.config import Settings
from rigd.model.pace import time_words
from rigd.model.reconcile import Account
from rigd.operations import counting
from rigd.operations.counting import FrameCount, JobCount, RollCount
from rigd.operations.verb import Nothing


@rolls.command()
@click.argument("roll")
@job_option
@json_option
@runs
async def close(roll: str, root: Path, as_json: bool) -> None:
    """Say that ROLL is through; tells whether it comes out even."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.close_roll(roll_id=roll)
        found = await verbs.do(counting.ACCOUNT, counting.OfStrip(roll))
    show(done, as_json, lambda: account_words(found))


@rolls.command()
@click.argument("roll", required=False)
@click.option("--by", type=click.Choice(["roll", "strip", "frame", "job"]), default="roll", show_default=True)
@job_option
@json_option
@runs
async def tally(roll: str | None, by: str, root: Path, as_json: bool) -> None:
    """Count ROLL, the current one by default: as a whole, by strip, by frame; or the whole job."""
    async with reach(root, Settings()) as verbs:
        if by == "job":
            job = await verbs.do(counting.JOB, Nothing())
            show(job, as_json, lambda: _job_lines(job))
        elif by == "roll":
            done = await verbs.tally(roll_id=roll)
            show(done, as_json, lambda: [tally_words(done)])
        else:
            found = await verbs.do(counting.ROLL, counting.OfRoll(roll))
            show(found, as_json, lambda: _strip_lines(found) if by == "strip" else _frame_lines(found))


@rolls.command()
@click.argument("roll", required=False)
@click.option("--strip", type=int, help="One of its strips, by number.")
@click.option("--all", "whole", is_flag=True, help="The whole job.")
@job_option
@json_option
@runs
async def account(roll: str | None, strip: int | None, whole: bool, root: Path, as_json: bool) -> None:
    """Does it come out even? What is off in ROLL (the current one by default), and how to settle it.

    Exit code 1 if something is left to settle.
    """
    async with reach(root, Settings()) as verbs:
        if whole:
            found = await verbs.do(counting.WHOLE, Nothing())
        else:
            found = await verbs.do(counting.ACCOUNT, counting.OfStrip(roll, strip))
    show(found, as_json, lambda: account_words(found))
    if not found.even:
        sys.exit(1)


def account_words(found: Account) -> list[str]:
    """The sentence, then what is off."""
    lines = [f"{found.of}: {found.sentence}"]
    for one in found.findings:
        lines += [f"  {one.what}", f"    do: {one.remedy}"]
    return lines


def _job_lines(job: JobCount) -> list[str]:
    left = job.left
    learned = f"learned from {left.timed} frames" if left.timed else "common practice by hand"
    more = f", and {left.unknown} rolls of unknown length" if left.unknown else ""
    return [
        f"{job.closed} of {job.rolls} rolls closed",
        tally_words(replace(job.tally, expected=None) if job.unknown == job.rolls else job.tally),
        f"To come: {left.frames} frames in about {time_words(left.seconds)}{more}; "
        f"{left.cadence_s:.0f} s a frame, {learned}, breaks and set-up left out",
    ]


def _strip_lines(found: RollCount) -> list[str]:
    lines = [f"strip {one.strip.number}: {tally_words(one.tally)}" for one in found.strips]
    pace = f"; {found.cadence_s:.1f} s a frame" if found.cadence_s else ""
    return [*lines, f"{found.roll.label}: {tally_words(found.tally)}{pace}"]


def _frame_lines(found: RollCount) -> list[str]:
    return [_frame_line(frame) for frame in found.frames] or ["No frames yet."]


def _frame_line(f: FrameCount) -> str:
    flags = {"retaken": f.retaken, "suspect": f.suspect, "take again": bool(f.again)}
    notes = [word for word, is_so in flags.items() if is_so]
    marked = f" {f.mark}" if f.mark else ""
    said = f"  ({', '.join(notes)})" if notes else ""
    return f"{f.number:>4}{marked}  strip {f.strip} place {f.place}  {f.kind}  {f.frame_id}{said}"
