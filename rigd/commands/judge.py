"""`rigd judge`: raw files from disk, without a camera or a daemon."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from rigd.commands.common import fail, json_option, show
from rigd.errors import RigdError
from rigd.model.formats import FORMATS
from rigd.model.words import Colour, Tone
from rigd.operations.judge_files import FileVerdict, judge_file


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--format", "film_format", type=click.Choice(list(FORMATS)), default="120-6x6", show_default=True)
@click.option("--tone", type=click.Choice([t.value for t in Tone]), default="negative", show_default=True)
@click.option("--colour", type=click.Choice([c.value for c in Colour]), default="mono", show_default=True)
@json_option
def judge(files: tuple[Path, ...], film_format: str, tone: str, colour: str, as_json: bool) -> None:
    """Judge raw FILES: what the film shows, what the take is worth, and why; exit code 1 if one cannot be read."""
    try:
        found = [judge_file(path, film_format, Tone(tone), Colour(colour)) for path in files]
    except RigdError as error:
        fail(error)
    show(found, as_json, lambda: [line for verdict in found for line in _lines(verdict)])
    if not all(verdict.readable for verdict in found):
        sys.exit(1)


def _lines(verdict: FileVerdict) -> list[str]:
    lines = [f"{verdict.file}: {verdict.film or 'film unknown'}, {verdict.take}. {verdict.why}"]
    if verdict.off_by_stops is not None:
        lines.append(f"  {verdict.off_by_stops:+.2f} stops off the aim, {verdict.clipped_pct:.2f} % over the ceiling")
    if verdict.offset_mm is not None and verdict.rotation_deg is not None and verdict.px_per_mm is not None:
        x, y = verdict.offset_mm
        lines.append(
            f"  middle {x:+.2f} mm across, {y:+.2f} mm down; turned {verdict.rotation_deg:+.2f} degrees; "
            f"{verdict.px_per_mm:.2f} px/mm"
        )
    return lines
