"""`rigd check`, `rigd status`, `rigd verify`: look, and change nothing but findings."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from rigd.app.checks import run_checks
from rigd.app.reach import reach
from rigd.commands.common import config_option, job_option, json_option, runs, show
from rigd.commands.rolls import tally_words
from rigd.config import Settings, load_settings
from rigd.operations.checking import CheckReport
from rigd.operations.looking import Status
from rigd.operations.verifying import VerifyReport


@click.command()
@job_option
@json_option
@runs
async def status(root: Path, as_json: bool) -> None:
    """How everything stands."""
    async with reach(root, Settings()) as verbs:
        found = await verbs.status()
    show(found, as_json, lambda: _status_lines(found))


@click.command()
@click.argument("roll", required=False)
@job_option
@json_option
@runs
async def verify(roll: str | None, root: Path, as_json: bool) -> None:
    """Read every stored file back and compare it with the ledger: what is missing, changed, or belongs to nothing.

    Exit code 1 if something is missing or not as it was written.
    """
    async with reach(root, Settings()) as verbs:
        report = await verbs.verify(roll_id=roll)
    show(report, as_json, lambda: _verify_lines(report))
    if report.bad or report.papers:
        sys.exit(1)


@click.command()
@job_option
@config_option
@json_option
@click.option("--usb", is_flag=True, help="Look for USB cameras, whatever the settings say.")
@runs
async def check(root: Path, config: Path | None, as_json: bool, usb: bool) -> None:
    """What is connected, what is missing, and what to do about it; exit code 1 if something is missing."""
    report = await run_checks(root, load_settings(config), usb)
    show(report, as_json, lambda: _check_lines(report))
    if report.missing:
        sys.exit(1)


def _status_lines(found: Status) -> list[str]:
    state, vitals = found.state, found.vitals
    lines = [f"Job: {state.job.title if state.job else 'none yet'}"]
    if state.roll is not None and found.tally is not None:
        lines.append(f"Roll: {state.roll.roll.label}{' (complete)' if state.roll.closed else ''}")
        lines.append(f"Next: {state.target or 'nothing: open a roll'}")
        lines.append(tally_words(found.tally))
    if vitals.camera:
        lines.append(f"Camera: {vitals.camera}{'' if vitals.camera_ok else ' (lost)'}; {vitals.phase}")
    if vitals.to_copy is not None:
        lines.append(f"Second copy: {vitals.copied} of {vitals.to_copy} files. {vitals.copy_trouble}".strip())
    if state.paused:
        lines.append("Paused.")
    if state.trouble is not None:
        lines.append(f"Needs you: {state.trouble.what} {state.trouble.why} {state.trouble.remedy}")
    return lines


def _verify_lines(report: VerifyReport) -> list[str]:
    lines = [f"{report.files} files read back, {report.bad} missing or not as they were stored."]
    lines += [f"  {line.state}: {line.path}: {line.why}" for line in report.lines if not line.ok]
    if report.papers:
        lines += [f"  not as it was written: {path}" for path in report.papers]
        lines.append("  do:  rigd rolls papers writes sidecars and lists anew; what others wrote is kept beside them.")
    lines += [f"  surplus: {path}" for path in report.surplus]
    return lines


def _check_lines(report: CheckReport) -> list[str]:
    lines = []
    for line in report.lines:
        lines.append(f"[{line.state:^7}] {line.what}: {line.detail}")
        if line.remedy:
            lines.append(f"            -> {line.remedy}")
    return lines
