"""How frames are exposed, as options of a job and of a roll."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click
from msgspec import UNSET, UnsetType

from rigd.errors import InputError
from rigd.model.exposing import ExposingChanges
from rigd.model.units import shutter_words
from rigd.model.values import Exposing
from rigd.model.words import Aim, Mains, Second

Command = TypeVar("Command", bound=Callable[..., Any])

_AGAIN = "inherit"


def exposing_options(command: Command) -> Command:
    """--aim, --mains, --second, --fastest, --slowest; `inherit` takes a word back."""

    def choice(words: list[str]) -> click.Choice[str]:
        return click.Choice([*words, _AGAIN])

    for option in (
        click.option("--slowest", metavar="TIME", help="No shutter slower than this, such as 4 or 1/8."),
        click.option("--fastest", metavar="TIME", help="No shutter faster than this, such as 1/500."),
        click.option("--second", type=choice([s.value for s in Second]),
                     help="Where a range exceeds one exposure: offer a second, longer one, or take it."),
        click.option("--mains", type=choice([m.value for m in Mains]),
                     help="Only times in which the ripple of a lamp on these mains (Hz) averages out."),
        click.option("--aim", type=choice([a.value for a in Aim]),
                     help="centre: each frame's histogram; base: the film's base, held for the roll."),
    ):  # fmt: skip
        command = option(command)
    return command


def exposing_changes(said: dict[str, Any]) -> ExposingChanges | UnsetType:
    """The changes that the options ask for, UNSET for none. Raises InputError."""
    told: dict[str, Any] = {}
    for name, kind in (("aim", Aim), ("mains", Mains), ("second", Second)):
        if said.get(name) is not None:
            told[name] = None if said[name] == _AGAIN else kind(said[name])
    for name in ("fastest", "slowest"):
        if said.get(name) is not None:
            told[f"{name}_s"] = None if said[name] == _AGAIN else _seconds(said[name])
    return ExposingChanges(**told) if told else UNSET


def exposing_words(exposing: Exposing) -> str:
    """`, aim base, mains 50 Hz, fastest 1/500 s`; "" where all is inherited."""
    said = [
        exposing.aim and f"aim {exposing.aim}",
        exposing.mains and ("any time" if exposing.mains is Mains.OFF else f"times safe on mains: {exposing.mains}"),
        exposing.second and f"second exposure: {exposing.second}",
        exposing.fastest_s and f"fastest {shutter_words(exposing.fastest_s)}",
        exposing.slowest_s and f"slowest {shutter_words(exposing.slowest_s)}",
    ]
    return "".join(f", {word}" for word in said if word)


def _seconds(text: str) -> float:
    above, _, below = text.removesuffix("s").strip().partition("/")
    try:
        return float(above) / float(below or 1)
    except (ValueError, ZeroDivisionError):
        raise InputError(f"{text!r} is no shutter time.", "", "Write it as on a dial: 1/500, 0.5 or 4.") from None
