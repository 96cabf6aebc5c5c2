"""What can be said of a roll on the command line, and how it becomes changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click
from msgspec import UNSET, UnsetType

from rigd.commands.exposing_options import exposing_changes
from rigd.errors import InputError
from rigd.model.formats import FORMATS
from rigd.model.metadata import FIELDS, AboutChanges
from rigd.model.plan import RollChanges
from rigd.model.words import BaseType, Colour, Tone
from rigd.operations.plan_table import cut_list, frames_range

Command = TypeVar("Command", bound=Callable[..., Any])

_HELP = {
    "dates": "1957, 1957-05-02, 1957~ (about), or two with a slash between.",
    "keywords": "With semicolons between.",
    "reference": "Archive reference.",
}


def about_options(command: Command, without: tuple[str, ...] = ("stock", "process")) -> Command:
    """What is told about pictures: one option a field, and --inherit."""
    fields = [name for name in FIELDS if name not in without]
    for name in reversed(fields):
        command = click.option(f"--{name}", help=_HELP.get(name))(command)
    return click.option("--inherit", multiple=True, type=click.Choice(list(FIELDS)),
                        help="Take this word back, so that it is inherited again.")(command)  # fmt: skip


def job_about_options(command: Command) -> Command:
    """The same for a whole job, which has a title of its own."""
    return about_options(command, ("title",))


def roll_options(command: Command) -> Command:
    """What is planned of a roll."""
    for option in (
        click.option("--where", help="Where it lies: box, sleeve, shelf."),
        click.option("--process"),
        click.option("--stock", help="Film stock."),
        click.option("--base", type=click.Choice([b.value for b in BaseType]), help="Film base.  [default: the job's]"),
        click.option("--cuts", metavar="N,N,...", help="Frames of each strip, where they were counted."),
        click.option("--strip", type=int, help="Frames a strip, usually."),
        click.option("--expected", metavar="N|N-M|unknown", help="Frames on it."),
        click.option("--exposures", type=int, help="What its box says: 36 stands for 36 to 39 frames."),
        click.option("--colour", type=click.Choice([c.value for c in Colour])),
        click.option("--tone", type=click.Choice([t.value for t in Tone])),
        click.option("--film-format", type=click.Choice(list(FORMATS))),
    ):  # fmt: skip
        command = option(command)
    return command


def roll_changes(label: str | None, said: dict[str, Any]) -> RollChanges:
    """The changes that these options ask for. Raises InputError."""
    plain = {name: said[name] for name in ("film_format", "exposures", "stock", "process", "where")}
    return RollChanges(
        label=_given(label),
        **{name: _given(value) for name, value in plain.items()},
        tone=UNSET if said["tone"] is None else Tone(said["tone"]),
        colour=UNSET if said["colour"] is None else Colour(said["colour"]),
        expected=_expected(said["expected"]),
        strip_places=_given(said["strip"]),
        cuts=UNSET if said["cuts"] is None else _cuts(said["cuts"]),
        base_type=UNSET if said["base"] is None else BaseType(said["base"]),
        exposing=exposing_changes(said),
        about=about_changes({name: said[name] for name in said if name not in ("stock", "process")}),
    )


def about_changes(said: dict[str, Any]) -> AboutChanges | UnsetType:
    """What is to be told differently, UNSET for nothing."""
    told: dict[str, Any] = {name: said[name] for name in FIELDS if said.get(name) is not None}
    if "keywords" in told:
        told["keywords"] = tuple(word.strip() for word in told["keywords"].split(";") if word.strip())
    told |= dict.fromkeys(said["inherit"])
    return AboutChanges(**told) if told else UNSET


def _given(value: Any) -> Any:
    return UNSET if value is None else value


def _expected(text: str | None) -> tuple[int, int] | UnsetType | None:
    if text is None:
        return UNSET
    if text == "unknown":
        return None
    try:
        return frames_range(text)
    except ValueError:
        raise InputError(f"{text!r} is no count.", "", "Write 12, a range such as 36-39, or unknown.") from None


def _cuts(text: str) -> tuple[int, ...]:
    try:
        return cut_list(text)
    except ValueError:
        raise InputError(f"{text!r} are no strips.", "", "Write the frames of each, such as 6,6,6,6,6,6.") from None
