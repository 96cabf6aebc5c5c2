"""What all commands share: options, printing, and how an error of rigd becomes words and an exit code."""

from __future__ import annotations

import asyncio
import functools
import sys
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any, NoReturn, ParamSpec, TypeVar

import click
import msgspec

from rigd.errors import RigdError

P = ParamSpec("P")
R = TypeVar("R")
Command = TypeVar("Command", bound=Callable[..., Any])


def job_option(command: Command) -> Command:
    """--job: the job's folder."""
    return click.option(
        "--job", "root", type=click.Path(file_okay=False, path_type=Path), default=Path(), envvar="RIGD_JOB",
        show_default="current folder", help="The job's folder: ledger and files.",
    )(command)  # fmt: skip


def json_option(command: Command) -> Command:
    """--json: for programs."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON value for programs.")(command)


def config_option(command: Command) -> Command:
    """--config: the settings file."""
    return click.option(
        "--config", type=click.Path(path_type=Path), envvar="RIGD_CONFIG", help="Device settings, a TOML file."
    )(command)


def runs(work: Callable[P, Coroutine[Any, Any, R]]) -> Callable[P, R]:
    """Make a plain command of an async one; errors of rigd are printed with cause and remedy, exit code 1."""

    @functools.wraps(work)
    def command(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return asyncio.run(work(*args, **kwargs))
        except KeyboardInterrupt:
            sys.exit(130)
        except RigdError as error:
            fail(error)
        except BaseExceptionGroup as group:
            fail(_first(group))

    return command


def fail(error: RigdError) -> NoReturn:
    """Say what happened, why and what to do, and end with exit code 1."""
    for mark, words in (("", error.what), ("  why: ", error.why), ("  do:  ", error.remedy)):
        if words:
            click.echo(f"{mark}{words}", err=True)
    sys.exit(1)


def show(value: object, as_json: bool, lines: Callable[[], list[str]]) -> None:
    """Print `value` as JSON, or the lines for people."""
    click.echo(msgspec.json.encode(value).decode() if as_json else "\n".join(lines()))


def _first(group: BaseExceptionGroup[BaseException]) -> RigdError:
    """The first error of rigd in a group; anything else is a fault of the program and goes on as it is."""
    ours, others = group.split(RigdError)
    if ours is None or others is not None:
        raise group
    first: RigdError | ExceptionGroup[RigdError] = ours
    while isinstance(first, ExceptionGroup):
        first = first.exceptions[0]
    return first
