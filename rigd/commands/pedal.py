"""`rigd pedal`: a foot pedal, learned by pressing it."""

from __future__ import annotations

from pathlib import Path

import click
from msgspec import Struct

from rigd.app.pedals import choose_pedal, settings_of
from rigd.commands.common import json_option, runs, show
from rigd.drivers.pedal.learn import Candidate


class Chosen(Struct, frozen=True):
    """What was pressed, and the lines of the settings file for it."""

    device: str
    key: int
    settings: str


@click.command()
@click.option("--seconds", type=click.FloatRange(0.1, 600), default=20.0, show_default=True, help="Wait so long.")
@click.option("--keyboard", is_flag=True, help="A key of a whole keyboard may serve, too: rigd takes it alone then.")
@click.option("--device", "devices", multiple=True, type=click.Path(path_type=Path),
              help="Only this input device.  [default: all that may be read]")
@json_option
@runs
async def pedal(seconds: float, keyboard: bool, devices: tuple[Path, ...], as_json: bool) -> None:  # fmt: skip
    """Press a foot pedal to choose it; prints the lines for the settings file."""
    learned = await choose_pedal(lambda found: _told(found, seconds), devices, seconds, keyboard)
    chosen = Chosen(learned.path, learned.code, settings_of(learned, keyboard))
    show(chosen, as_json, lambda: ["", chosen.settings])


def _told(found: list[Candidate], seconds: float) -> None:
    for one in found:
        click.echo(f"  {one.name or one.path}{' (a whole keyboard)' if one.keyboard else ''}", err=True)
    click.echo(f"Press the pedal within {seconds:.0f} s.", err=True)
