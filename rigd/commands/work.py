"""`rigd trigger` and its neighbours: the running rig from the command line."""

from __future__ import annotations

import secrets
from pathlib import Path

import click

from rigd.app.reach import reach
from rigd.commands.common import config_option, job_option, json_option, runs, show
from rigd.config import Settings, load_settings
from rigd.model.words import Film
from rigd.operations import exposing
from rigd.operations.verb import Nothing


@click.command()
@click.option("--target", help="Only if this is what lies in the gate, such as s-0002#3.")
@job_option
@config_option
@json_option
@runs
async def trigger(target: str | None, root: Path, config: Path | None, as_json: bool) -> None:
    """Take the frame in the gate."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.trigger(nonce=secrets.token_hex(8), target=target)
    show(done, as_json, lambda: [f"Triggered: {done.target}"])


@click.command()
@click.argument("frame", required=False)
@job_option
@config_option
@json_option
@runs
async def retake(frame: str | None, root: Path, config: Path | None, as_json: bool) -> None:
    """Take a frame again: FRAME by its id, or the last one."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.retake(nonce=secrets.token_hex(8), frame_id=frame)
    show(done, as_json, lambda: [f"Taking again: {done.target}"])


@click.command()
@click.option("--target", help="Only if this is what lies in the gate.")
@job_option
@json_option
@runs
async def skip(target: str | None, root: Path, as_json: bool) -> None:
    """Leave the frame in the gate: it counts with the takes it has, or stays open to come back to."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.skip(target=target)
    show(done, as_json, lambda: [f"Next: {done.target or 'the roll is through'}"])


@click.command()
@click.argument("frame")
@click.argument("film", type=click.Choice(["picture", "unexposed", "fogged", "none"]))
@job_option
@json_option
@runs
async def mark(frame: str, film: str, root: Path, as_json: bool) -> None:
    """Say what FRAME shows; `none` takes the mark back."""
    async with reach(root, Settings()) as verbs:
        await verbs.mark(frame_id=frame, film=None if film == "none" else Film(film))
    show({"frame": frame, "film": film}, as_json, lambda: [f"{frame}: {film}"])


@click.command()
@job_option
@json_option
@runs
async def arm(root: Path, as_json: bool) -> None:
    """Take each new frame that lies whole in the gate and rests, without a press."""
    async with reach(root, Settings()) as verbs:
        await verbs.arm()
    show({"armed": True}, as_json, lambda: ["Armed: slide the film."])


@click.command()
@job_option
@json_option
@runs
async def disarm(root: Path, as_json: bool) -> None:
    """No frame without a press any more."""
    async with reach(root, Settings()) as verbs:
        await verbs.disarm()
    show({"armed": False}, as_json, lambda: ["Disarmed."])


@click.command()
@job_option
@json_option
@runs
async def pause(root: Path, as_json: bool) -> None:
    """No further exposure after the step in hand."""
    async with reach(root, Settings()) as verbs:
        await verbs.pause()
    show({"paused": True}, as_json, lambda: ["Paused."])


@click.command()
@job_option
@json_option
@runs
async def resume(root: Path, as_json: bool) -> None:
    """Go on after a pause."""
    async with reach(root, Settings()) as verbs:
        await verbs.resume()
    show({"paused": False}, as_json, lambda: ["Going on."])


@click.command()
@job_option
@config_option
@json_option
@runs
async def recover(root: Path, config: Path | None, as_json: bool) -> None:
    """Win the camera back, find on its card what was exposed, and finish it."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        await verbs.recover()
    show({"recovering": True}, as_json, lambda: ["Recovering; rigd status tells what came of it."])


@click.command()
@click.argument("frame", required=False)
@job_option
@config_option
@json_option
@runs
async def bracket(frame: str | None, root: Path, config: Path | None, as_json: bool) -> None:
    """Take a second, longer exposure of FRAME (or the last one), whose range exceeds one; both count for it."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.do(exposing.BRACKET, exposing.FrameOrLast(frame))
    show(done, as_json, lambda: [f"Second exposure of {done.target}."])


@click.command()
@click.option("--release", is_flag=True, help="Hold the shutter no longer.")
@job_option
@config_option
@json_option
@runs
async def base(release: bool, root: Path, config: Path | None, as_json: bool) -> None:
    """Meter the base of the current roll from the clear film in the gate, and hold its shutter (aim base)."""
    async with reach(root, load_settings(config), camera=True) as verbs:
        done = await verbs.do(exposing.RELEASE_BASE if release else exposing.METER_BASE, Nothing())
    words = "Held no longer." if release else "Metering the base; rigd status tells the shutter that is held."
    show(done, as_json, lambda: [words])
