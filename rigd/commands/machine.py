"""`rigd stop` and its neighbours: the film advancer from the command line."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from rigd.app.reach import reach_daemon
from rigd.commands.common import job_option, json_option, runs, show
from rigd.operations import feeding
from rigd.operations.feeding import Feeding
from rigd.operations.verb import Nothing


@click.command()
@job_option
@json_option
@runs
async def stop(root: Path, as_json: bool) -> None:
    """Stop at once: the advancer's motor and lamp go off and stay off until `rigd clear`; nothing more is exposed."""
    async with reach_daemon(root) as verbs:
        done = await verbs.do(feeding.STOP_FILM, Nothing())
    show(done, as_json, lambda: ["Stopped. Look after the film, then: rigd clear."])


@click.command()
@job_option
@json_option
@runs
async def clear(root: Path, as_json: bool) -> None:
    """Clear a stop, on purpose. Nothing moves: the next trigger finds out where the film is."""
    async with reach_daemon(root) as verbs:
        done = await verbs.do(feeding.CLEAR_STOP, Nothing())
    show(done, as_json, lambda: ["The film may move again.", *_moved_by(done)])


@click.command()
@click.argument("by", type=click.Choice(["hand", "advancer"]))
@job_option
@json_option
@runs
async def feed(by: Literal["hand", "advancer"], root: Path, as_json: bool) -> None:
    """Say who moves the film from now on: a hand, or the film advancer."""
    async with reach_daemon(root) as verbs:
        done = await verbs.do(feeding.FEED_BY, feeding.FeedBy(by))
    show(done, as_json, lambda: _moved_by(done))


def _moved_by(done: Feeding) -> list[str]:
    return ["The advancer moves the film." if done.by == "advancer" else "The film is fed by hand."]
