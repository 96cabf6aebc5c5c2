"""`rigd job`, `rigd rolls`, `rigd strip`: the paper work."""

from __future__ import annotations

from pathlib import Path

import click

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.config import Settings
from rigd.errors import InputError
from rigd.model.formats import FORMATS
from rigd.model.tally import Tally
from rigd.model.words import BaseType, Colour, Emulsion, Tone
from rigd.operations.rolls import RollLine


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


@click.group()
def rolls() -> None:
    """The rolls of a job."""


@rolls.command("plan")
@click.argument("label")
@click.option("--film-format", "name", type=click.Choice(list(FORMATS)), required=True)
@click.option("--tone", type=click.Choice([t.value for t in Tone]), default="negative", show_default=True)
@click.option("--colour", type=click.Choice([c.value for c in Colour]), default="mono", show_default=True)
@click.option("--expected", metavar="N|N-M", help="Frames on it; leave it out while unknown.")
@click.option("--strip", "places", type=int, help="Frames a strip.")
@click.option("--base", type=click.Choice([b.value for b in BaseType]), help="Film base.  [default: the job's]")
@click.option("--stock", default="", help="Film stock.")
@click.option("--process", default="")
@click.option("--where", default="", help="Where it lies: box, sleeve, shelf.")
@job_option
@json_option
@runs
async def plan(
    label: str, name: str, tone: str, colour: str, expected: str | None, places: int | None, base: str | None,
    stock: str, process: str, where: str, root: Path, as_json: bool,
) -> None:  # fmt: skip
    """Add a roll: LABEL is what its sleeve or box says."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.plan_roll(
            label=label, film_format_name=name, tone=Tone(tone), colour=Colour(colour), expected=_range(expected),
            strip_places=places, base_type=BaseType(base) if base else None, stock=stock, process=process, where=where,
        )  # fmt: skip
    show(done, as_json, lambda: [f"Roll {done.roll_id}: {done.label}, {done.film_format}, {done.tone} {done.colour}"])


@rolls.command("list")
@job_option
@json_option
@runs
async def list_(root: Path, as_json: bool) -> None:
    """Every roll with its tally."""
    async with reach(root, Settings()) as verbs:
        found = await verbs.list_rolls()
    show(found, as_json, lambda: [_roll_line(line) for line in found] or ["No rolls yet."])


@rolls.command("open")
@click.argument("roll")
@job_option
@json_option
@runs
async def open_roll(roll: str, root: Path, as_json: bool) -> None:
    """Make a roll (id or label) the current one."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.open_roll(roll_id=roll)
    show(done, as_json, lambda: [f"Open: {done.label}"])


@rolls.command("close")
@click.argument("roll")
@job_option
@json_option
@runs
async def close(roll: str, root: Path, as_json: bool) -> None:
    """Say that a roll is through; prints its tally."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.close_roll(roll_id=roll)
    show(done, as_json, lambda: [tally_words(done)])


@rolls.command("tally")
@click.argument("roll", required=False)
@job_option
@json_option
@runs
async def tally(roll: str | None, root: Path, as_json: bool) -> None:
    """Count one roll, the current one by default."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.tally(roll_id=roll)
    show(done, as_json, lambda: [tally_words(done)])


@click.command()
@click.option("--places", type=int, help="Frames on this strip.  [default: as the roll has]")
@click.option("--emulsion", type=click.Choice([e.value for e in Emulsion]), help="Side of the emulsion in the gate.")
@click.option("--turn", type=click.Choice(["0", "180"]), help="Turned end for end?  [default: as the strip before]")
@job_option
@json_option
@runs
async def strip(places: int | None, emulsion: str | None, turn: str | None, root: Path, as_json: bool) -> None:
    """Record that the next strip lies in the gate, and how."""
    side, angle = Emulsion(emulsion) if emulsion else None, int(turn) if turn else None
    async with reach(root, Settings()) as verbs:
        done = await verbs.load_strip(places=places, emulsion=side, turn=angle)
    show(done, as_json, lambda: [f"Strip {done.number}, emulsion {done.emulsion}, turned by {done.turn} degrees"])


def tally_words(t: Tally) -> str:
    """The tally as a sentence."""
    parts = {
        "pictures": t.pictures, "unexposed": t.unexposed, "fogged": t.fogged, "skipped": t.skipped,
        "missing": t.missing, "retaken": t.retaken, "suspect": t.suspect,
    }  # fmt: skip
    counted = ", ".join(f"{n} {word}" for word, n in parts.items() if n or word in ("pictures", "missing"))
    return f"{counted}; expected {'unknown' if t.expected is None else t.expected}; {t.takes} takes"


def _roll_line(line: RollLine) -> str:
    mark = ">" if line.current else ("x" if line.closed else " ")
    return f"{mark} {line.roll.roll_id}  {line.roll.label}  {line.roll.film_format}  {tally_words(line.tally)}"


def _range(text: str | None) -> tuple[int, int] | None:
    if text is None:
        return None
    fewest, _, most = text.partition("-")
    try:
        return int(fewest), int(most or fewest)
    except ValueError:
        raise InputError(f"{text!r} is no count.", "", "Write 12, or a range such as 36-39.") from None
