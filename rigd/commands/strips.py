"""`rigd strip` and what is said of strips: which one lies in the gate, its label, the marks on its edge."""

from __future__ import annotations

from pathlib import Path

import click
from msgspec import UNSET

from rigd.app.reach import reach
from rigd.commands.common import config_option, job_option, json_option, runs, show
from rigd.commands.rolls import rolls
from rigd.config import Settings, load_settings
from rigd.errors import InputError
from rigd.model.words import Colour, Emulsion, Tone
from rigd.operations import strips
from rigd.operations.strips import EdgesTold, Laid


@click.command()
@click.option("--number", type=int, help="Its number as sleeved, in any order.  [default: the next one]")
@click.option("--places", type=int, help="Frames on this strip.  [default: as the roll has]")
@click.option("--emulsion", type=click.Choice([e.value for e in Emulsion]), help="Side of the emulsion in the gate.")
@click.option("--turn", type=click.Choice(["0", "180"]), help="Turned end for end?  [default: as the strip before]")
@click.option("--sleeve", help="What is written on its own sleeve or mount.")
@click.option("--tone", type=click.Choice([t.value for t in Tone]), help="Where it differs from its roll.")
@click.option("--colour", type=click.Choice([c.value for c in Colour]), help="Where it differs from its roll.")
@job_option
@json_option
@runs
async def strip(
    number: int | None, places: int | None, emulsion: str | None, turn: str | None, sleeve: str | None,
    tone: str | None, colour: str | None, root: Path, as_json: bool,
) -> None:  # fmt: skip
    """Say which strip lies in the gate, and how; one that was there before is gone on with."""
    args = strips.Lay(
        number=number, places=places, emulsion=Emulsion(emulsion) if emulsion else None,
        turn=int(turn) if turn else None, sleeve=UNSET if sleeve is None else sleeve,
        tone=Tone(tone) if tone else UNSET, colour=Colour(colour) if colour else UNSET,
    )  # fmt: skip
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(strips.LAY, args)
    show(done.strip, as_json, lambda: [_laid(done)])


@rolls.command()
@click.argument("roll", required=False)
@click.option("--strip", "number", type=int, help="Count on along this strip from --first.")
@click.option("--first", default="", help="Mark of its first frame in the order of the film, such as 00 or 12A.")
@click.option("--mark", "marks", multiple=True, metavar="FRAME=MARK", help="The mark of one frame.")
@job_option
@json_option
@runs
async def edge(
    roll: str | None, number: int | None, first: str, marks: tuple[str, ...], root: Path, as_json: bool
) -> None:
    """Write down the edge marks of ROLL (the current one by default), as labels of its frames."""
    args = strips.Edges(marks=dict(_pair(text) for text in marks), roll=roll, strip=number, first=first)
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(strips.EDGES, args)
    show(done, as_json, lambda: _told(done))


@rolls.command()
@click.option("--whole", is_flag=True, help="The label of the roll or box, not of the strip in the gate.")
@job_option
@config_option
@json_option
@runs
async def label(whole: bool, root: Path, config: Path | None, as_json: bool) -> None:
    """Take a picture of the label of the strip in the gate, its sleeve or its mount."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.do(strips.LABEL, strips.Label(whole))
    show(done, as_json, lambda: [f"Taking the label of {'the roll' if whole else f'strip {done.strip.number}'}."])


@rolls.command()
@click.argument("frame")
@job_option
@json_option
@runs
async def recall(frame: str, root: Path, as_json: bool) -> None:
    """Go back to FRAME (its id): the next trigger takes it."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(strips.RECALL, strips.GoTo(frame))
    show(done, as_json, lambda: [f"Next: {done.target}"])


def _laid(done: Laid) -> str:
    lies = f"Strip {done.strip.number}, emulsion {done.strip.emulsion}, turned by {done.strip.turn} degrees"
    return lies if done.target else f"{lies}. Every place of it has been taken: recall a frame to take it again."


def _told(done: EdgesTold) -> list[str]:
    lines = [f"{frame}: {mark or 'no mark'}" for frame, mark in done.marks.items()]
    for n in done.backwards:
        lines.append(f"Strip {n} was fed end for end: its marks fall. Say so: rigd rolls correct --strips {n} --turn")
    return lines


def _pair(text: str) -> tuple[str, str]:
    frame, sign, mark = text.partition("=")
    if not sign:
        raise InputError(f"{text!r} is no mark.", "", "Write FRAME=MARK, such as f-00012=12A.")
    return frame.strip(), mark.strip()
