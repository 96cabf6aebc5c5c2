"""`rigd bench`: checks of the set-up on raw files, each a number with its limit and what to do."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

import click
from msgspec.structs import replace

from rigd.bench.optics import Advice
from rigd.bench.values import Figure, Finding
from rigd.commands.common import json_option, runs, show
from rigd.operations import bench_files

_FILE = click.Path(exists=False, dir_okay=False, path_type=Path)


@click.group()
def bench() -> None:
    """Is the rig evenly lit, dark and steady, and which aperture suits it? From raw files."""


@bench.command()
@click.argument("files", nargs=-1, required=True, type=_FILE)
@click.option("--turned", multiple=True, type=_FILE, help="A take with the lamp turned by 180 degrees; more than once.")
@json_option
@runs
async def even(files: tuple[Path, ...], turned: tuple[Path, ...], as_json: bool) -> None:
    """How evenly the gate is lit, from FILES of the empty gate."""
    found, apart = await asyncio.to_thread(bench_files.even, files, turned)
    _tell(found, as_json, apart)


@bench.command()
@click.argument("dark", type=_FILE)
@click.option("--gate", required=True, type=_FILE, help="A take of the open, lit gate, to compare with.")
@json_option
@runs
async def stray(dark: Path, gate: Path, as_json: bool) -> None:
    """What light of the room reaches the sensor: DARK is a take with the lamp off and film or paper in the gate."""
    _tell(await asyncio.to_thread(bench_files.stray_light, dark, gate), as_json)


@bench.command()
@click.argument("file", type=_FILE)
@click.option("--readout-ms", type=float, help="What the shutter takes to cross the frame, for the frequency.")
@json_option
@runs
async def flicker(file: Path, readout_ms: float | None, as_json: bool) -> None:
    """Bands of a flickering lamp in FILE, a take of the empty gate."""
    _tell(await asyncio.to_thread(bench_files.bands, file, readout_ms), as_json)


@bench.command()
@click.argument("files", nargs=-1, required=True, type=_FILE)
@json_option
@runs
async def noise(files: tuple[Path, ...], as_json: bool) -> None:
    """Noise, range, linearity from FILES: two like takes of an even field at each of four times or more."""
    _tell(await asyncio.to_thread(bench_files.noise_and_range, files), as_json)


@bench.command()
@click.option("--magnification", type=float, required=True, help="Size on the sensor over size on the film.")
@click.option("--pitch-um", type=float, required=True, help="Pixel pitch of the sensor in micrometres.")
@click.option("--f", "f_numbers", type=float, multiple=True, default=(4, 5.6, 8, 11, 16), show_default=True)
@json_option
@runs
async def aperture(magnification: float, pitch_um: float, f_numbers: tuple[float, ...], as_json: bool) -> None:
    """Which aperture suits this scale: sampling, diffraction, depth of field."""
    found = bench_files.aperture(magnification, pitch_um, f_numbers)
    show(found, as_json, lambda: _stops(found))


def _tell(found: Finding, as_json: bool, apart: tuple[Figure, ...] = ()) -> None:
    """Print it; exit code 1 where the limit is not kept."""
    shown = replace(found, others=(*found.others, *apart))
    show(shown, as_json, lambda: _lines(shown))
    if shown.passed == "no":
        sys.exit(1)


def _lines(found: Finding) -> list[str]:
    lines = [_figure(found.figure)]
    if found.limit is not None:
        word = {"yes": "kept", "no": "NOT KEPT", "no limit": ""}[found.passed]
        side = "at least" if found.limit.at_least else "at most"
        lines.append(f"  limit: {side} {found.limit.value:g} {found.limit.unit} ({found.limit.source}): {word}")
    lines += [f"  {_figure(one)}" for one in found.others]
    return [*lines, *(f"  {text}" for text in (found.grade, found.advice) if text)]


def _figure(one: Figure) -> str:
    doubt = "" if one.uncertainty is None else f" +/- {one.uncertainty:.2g}"
    return f"{one.what}: {one.value:.4g}{doubt} {one.unit}".rstrip()


def _stops(found: Advice) -> list[str]:
    lines = [found.why, f"{found.ppi:.0f} samples an inch at the film, {found.nyquist_lpmm:.1f} lp/mm"]
    lines.append("f-number  effective  Airy at film  cut-off   contrast  depth")
    return lines + [
        f"f/{s.f_number:<7g} {s.effective:<10.1f} {s.airy_um:>6.1f} um     {s.cutoff_lpmm:>5.0f}/mm  "
        f"{100 * s.contrast:>5.1f} %  {s.depth_um:>6.0f} um" for s in found.stops
    ]  # fmt: skip
