"""`rigd demo`: the whole way with simulated devices, no hardware."""

from __future__ import annotations

import asyncio
import contextlib
import tempfile
from pathlib import Path

import click
import msgspec
from rich.console import Console

from rigd.app.demo import DemoPlan, Showing, showing
from rigd.app.report import RollReport
from rigd.app.simulators import SimulatedFilm
from rigd.commands.common import runs
from rigd.commands.progress import follow, table
from rigd.errors import InputError
from rigd.model.formats import FORMATS, film_format


@click.command()
@click.option("--once", is_flag=True, help="Digitise one roll, write the report, exit.")
@click.option("--json", "report_file", type=click.Path(dir_okay=False, path_type=Path), help="Write the report here.")
@click.option("--into", type=click.Path(file_okay=False, path_type=Path), help="New folder for the demo's job.")
@click.option("--film-format", default="120-6x6", type=click.Choice(list(FORMATS)), show_default=True)
@click.option("--tone", default="negative", type=click.Choice(["negative", "positive"]), show_default=True)
@click.option("--colour", default="mono", type=click.Choice(["mono", "colour"]), show_default=True)
@click.option("--megapixels", default="24", type=click.Choice(["2", "12", "24", "60"]), show_default=True)
@click.option("--compression", default="none", type=click.Choice(["none", "lossless-jpeg"]), show_default=True)
@click.option("--frames", type=click.IntRange(1, 99), help="Frames on the roll.  [default: as the format has]")
@click.option("--seed", default=1, show_default=True, help="Another seed, another film.")
@click.option("--feed", default="board", type=click.Choice(["board", "hand", "button"]), show_default=True,
              help="board: an advancer moves the film; hand: the rig watches film that a hand slides, and triggers by "
              "itself; button: the operator presses for each frame.")
@click.option("--port", default=0, type=click.IntRange(0, 65535), help="Port of the page.  [default: any free one]")
@runs
async def demo(
    once: bool, report_file: Path | None, into: Path | None, film_format: str, tone: str, colour: str,
    megapixels: str, compression: str, frames: int | None, seed: int, feed: str, port: int,
) -> None:  # fmt: skip
    """Digitise one simulated roll, hands off.

    A simulated operator pushes strips into a simulated advancer, or slides the film, and listens; the daemon does the
    rest, through the real camera library. Without --once the page stays up until Ctrl-C.
    """
    film = _film(film_format, tone, colour, int(megapixels), compression, frames, seed)
    console = Console(stderr=True)
    async with showing(DemoPlan(_folder(into), film, port, feed=feed)) as shown:
        report = await _digitise(shown, console)
        if report_file is not None:
            await asyncio.to_thread(report_file.write_bytes, msgspec.json.format(msgspec.json.encode(report)))
        console.print(table(report))
        console.print(f"Files: {shown.plan.into}", highlight=False)
        if not once:
            console.print(f"The page stays up at {shown.daemon.url} until Ctrl-C.", highlight=False)
            with contextlib.suppress(asyncio.CancelledError):
                await shown.daemon.quit.wait()


async def _digitise(shown: Showing, console: Console) -> RollReport:
    console.print(f"Open the page: {shown.daemon.link}", highlight=False, soft_wrap=True)
    following = asyncio.create_task(follow(shown.daemon.desk, console), name="progress")
    try:
        return await shown.digitise()
    finally:
        following.cancel()
        await asyncio.gather(following, return_exceptions=True)


def _film(
    name: str, tone: str, colour: str, megapixels: int, compression: str, frames: int | None, seed: int
) -> SimulatedFilm:
    kind = film_format(name)
    count = frames or (kind.counts[0] if kind.counts else 6)
    return SimulatedFilm(megapixels, name, tone, colour, count, min(kind.cut[0], count), seed, "harbour", compression)


def _folder(into: Path | None) -> Path:
    """A folder that is new, or empty: the demo never writes into a job that is there already."""
    if into is None:
        return Path(tempfile.mkdtemp(prefix="rigd-demo-"))
    if into.exists() and any(into.iterdir()):
        raise InputError(
            f"{into} is not empty.", "The demo opens a job of its own.", "Name a folder that does not exist yet."
        )
    into.mkdir(parents=True, exist_ok=True)
    return into
