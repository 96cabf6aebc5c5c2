"""The command line: parse, call one operation, print, exit code. 0 done, 1 refused or failed, 2 wrong words."""

from __future__ import annotations

import click

from rigd import __version__
from rigd.commands.bench import bench
from rigd.commands.board import board
from rigd.commands.copy import card, copy
from rigd.commands.demo import demo
from rigd.commands.devices import devices
from rigd.commands.film import job
from rigd.commands.find import find
from rigd.commands.going_back import back, undo
from rigd.commands.handover import handover
from rigd.commands.judge import judge
from rigd.commands.look import check, status, verify
from rigd.commands.machine import clear, feed, stop
from rigd.commands.pedal import pedal
from rigd.commands.rebuild import rebuild
from rigd.commands.rolls_all import rolls
from rigd.commands.run import run
from rigd.commands.strips import strip
from rigd.commands.work import arm, base, bracket, disarm, mark, pause, recover, resume, retake, skip, trigger


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, prog_name="rigd")
def cli() -> None:
    """Digitise film with a camera on a copy stand, without touching the rig.

    Every command works on the job in --job (the current folder by default). Where a daemon has that job open, the
    command asks the daemon; else it does the same on its own.
    """


for command in (
    run, demo, check, status, job, rolls, strip, trigger, retake, bracket, base, skip, back, arm, disarm, mark, undo,
    pause, resume, recover, stop, clear, feed, pedal, board, verify, find, rebuild, copy, card, judge, bench, handover,
    devices,
):  # fmt: skip
    cli.add_command(command)


def main() -> None:
    """Entry point of the `rigd` script."""
    cli()
