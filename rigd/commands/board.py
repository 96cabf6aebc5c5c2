"""`rigd board`: the film advancer board by itself, for building and calibrating it. No daemon may have it meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click
from msgspec import Struct

from rigd.app.board_bench import SETTINGS, board_alone
from rigd.commands.common import config_option, json_option, runs, show
from rigd.config import load_settings
from rigd.ports import Drive, Place

Command = TypeVar("Command", bound=Callable[..., Any])


class BoardTold(Struct, frozen=True):
    """What the board is, where it says the film is, and what it keeps."""

    drive: Drive
    place: Place
    settings: dict[str, int]


def port_option(command: Command) -> Command:
    """--port: the board's."""
    return click.option("--port", default="", help="Its serial port.  [default: as the settings file has it]")(command)


@click.group()
def board() -> None:
    """The film advancer board by itself: look, set, move. End a daemon that has it first."""


@board.command("show")
@port_option
@config_option
@json_option
@runs
async def show_board(port: str, config: Path | None, as_json: bool) -> None:
    """What it is, where the film is, and its settings. Moves nothing."""
    async with board_alone(load_settings(config), port) as client:
        kept = {name: await client.setting(name) for name in SETTINGS}
        told = BoardTold(await client.ready(), await client.place(), kept)
    show(told, as_json, lambda: _lines(told))


@board.command()
@click.argument("name", type=click.Choice(SETTINGS))
@click.argument("value", type=int)
@port_option
@config_option
@json_option
@runs
async def keep(name: str, value: int, port: str, config: Path | None, as_json: bool) -> None:
    """Keep VALUE as the setting NAME in the board's own memory (hardware/PROTOCOL.md, "Settings")."""
    async with board_alone(load_settings(config), port) as client:
        kept = await client.setting(name, value)
    show({name: kept}, as_json, lambda: [f"{name} {kept}"])


@board.command()
@click.argument("mm", type=click.FloatRange(-500, 500))
@port_option
@config_option
@json_option
@runs
async def move(mm: float, port: str, config: Path | None, as_json: bool) -> None:
    """Move the film by MM, backwards if negative. Keep a hand on the stop. For a negative number write: -- -10"""
    async with board_alone(load_settings(config), port) as client:
        place = await client.advance(mm)
    show(place, as_json, lambda: [_where(place)])


@board.command("clear")
@port_option
@config_option
@json_option
@runs
async def clear_board(port: str, config: Path | None, as_json: bool) -> None:
    """Clear a latched stop. Nothing moves."""
    async with board_alone(load_settings(config), port) as client:
        place = await client.clear()
    show(place, as_json, lambda: [_where(place)])


def _lines(told: BoardTold) -> list[str]:
    drive = told.drive
    what = f"{drive.name} {drive.version}, {drive.pedals} pedals, lamp: {', '.join(drive.colours) or 'none'}"
    return [what, _where(told.place), *(f"  {name:8} {value}" for name, value in told.settings.items())]


def _where(place: Place) -> str:
    film = "film" if place.film else "no film"
    sure = "" if place.sure else ", not sure"
    return f"at {place.mm:.2f} mm{sure}, {film} at the sensor{', STOPPED' if place.stopped else ''}; {place.why}"
