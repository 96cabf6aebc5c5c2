"""`rigd run`: the daemon."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from contextlib import AsyncExitStack
from pathlib import Path

import click

from rigd.app.daemon import running_daemon
from rigd.app.simulators import SimulatedFilm, simulated_rig
from rigd.commands.common import config_option, job_option, runs
from rigd.commands.devices import show_offer
from rigd.config import Settings, load_settings
from rigd.errors import RigdError
from rigd.operations.desk import Desk
from rigd.operations.outlook import outlook
from rigd.operations.verb import Nothing


@click.command()
@job_option
@config_option
@click.option("--simulate", is_flag=True, help="Drive simulated devices instead of real ones.")
@click.option("--port", type=click.IntRange(0, 65535), help="Port of the page; 0: any free one.")
@click.option("--lan", metavar="ADDRESS", help="Serve phones too, on this address of this machine.")
@click.option("--sounds", type=click.Choice(["none", "needed", "all"]), help="By this machine's own loudspeaker.")
@click.option("--speech", is_flag=True, help="Say there in words what is needed.")
@runs
async def run(
    root: Path, config: Path | None, simulate: bool, port: int | None, lan: str | None, sounds: str | None, speech: bool
) -> None:
    """Run the daemon on a job: own the camera, serve the page.

    The link that is printed lets one browser on this machine in, once. With --lan a code is shown that lets one phone
    of the local network in; for more of them: rigd devices pair. Ctrl-C ends it after the step in hand.
    """
    settings = load_settings(config)
    async with AsyncExitStack() as stack:
        if simulate:
            rig = await stack.enter_async_context(simulated_rig(SimulatedFilm(), first_strip=True))
            settings = _with_camera(settings, rig.camera)
            click.echo(f"Simulated rig. Move its film: python -m rigd_sim.control {rig.control} slide frame=2")
        settings = _heard(_served_at(settings, port, lan), sounds, speech)
        daemon = await stack.enter_async_context(running_daemon(root, settings))
        click.echo(f"Job: {root.resolve()}\nOpen the page: {daemon.link}")
        if daemon.offer is not None:
            show_offer(daemon.doorway.link(daemon.offer), daemon.offer.typed, daemon.doorway.addresses)
        _end_on_signals(daemon.quit)
        async with asyncio.TaskGroup() as group:
            telling = group.create_task(_tell_outlook(daemon.desk), name="outlook")
            await daemon.quit.wait()
            telling.cancel()
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(daemon.desk.engine().until_idle(), 60.0)


async def _tell_outlook(desk: Desk) -> None:
    """When the camera has joined, or could not."""
    await desk.engine().until_idle()
    with contextlib.suppress(RigdError):
        click.echo("\n".join((await outlook(desk, Nothing(), "")).words))


def _with_camera(settings: Settings, address: str) -> Settings:
    return settings.model_copy(update={"camera": settings.camera.model_copy(update={"address": address})})


def _served_at(settings: Settings, port: int | None, lan: str | None) -> Settings:
    given = {name: value for name, value in (("port", port), ("lan", lan)) if value is not None}
    return settings.model_copy(update={"server": settings.server.model_copy(update=given)})


def _heard(settings: Settings, sounds: str | None, speech: bool) -> Settings:
    """With sounds and words where the command line asks for them."""
    given = {**({"sounds": sounds} if sounds else {}), **({"speech": True} if speech else {})}
    return settings.model_copy(update={"speaker": settings.speaker.model_copy(update=given)})


def _end_on_signals(quit_event: asyncio.Event) -> None:
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, quit_event.set)
