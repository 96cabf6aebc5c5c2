"""Runs the simulated camera as a process: scene, body, responder and control socket in one event loop."""

from __future__ import annotations

import asyncio
import json
import signal
import sys
from argparse import Namespace
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta

from rigd_sim.camera.arguments import Address, parser
from rigd_sim.camera.body import Body, BodySpec
from rigd_sim.camera.clock import SceneClock
from rigd_sim.camera.medium import InFolder, InMemory
from rigd_sim.camera.responder import Responder
from rigd_sim.camera.verbs import CameraVerbs, scene_verbs, truth_verbs
from rigd_sim.camera.watch import parent_gone, stdin_closed
from rigd_sim.control.server import ControlServer
from rigd_sim.scene import Scene, SceneSpec
from rigd_sim.scene.spec import SENSORS


def main(arguments: list[str]) -> int:
    """Run until told to end. 0: ended as asked; 1: a port, a socket or the scene asked for cannot be had."""
    options = parser().parse_args(arguments)
    try:
        asyncio.run(run(options))
    except (OSError, ValueError) as error:
        print(f"the simulated camera cannot start: {error}", file=sys.stderr)
        return 1
    return 0


async def run(options: Namespace) -> None:
    """Serve until told to stop."""
    stop = asyncio.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, stop.set)
    clock = SceneClock(options.speed)
    scene = await asyncio.to_thread(Scene, scene_spec(options), clock.now)
    body = Body(body_spec(options), scene, clock)
    await body.stream.frame()  # what a first picture has to set up is no part of any timing
    responder = Responder(body)
    host, *ports = options.listen
    where = Address(host, *responder.open(host, *ports))
    try:
        async with _control(options, scene, body, responder, where, stop), _ends_with_parent(options, stop):
            ready = {"ready": True, "camera": str(where), "control": options.control and str(options.control)}
            print(json.dumps(ready), flush=True)
            await stop.wait()
    finally:
        await responder.close()
        await body.close()
        await asyncio.to_thread(scene.close)


@asynccontextmanager
async def _control(
    options: Namespace, scene: Scene, body: Body, responder: Responder, where: Address, stop: asyncio.Event
) -> AsyncIterator[None]:
    if options.control is None:
        yield
        return
    verbs = scene_verbs(scene) | truth_verbs(scene, body) | CameraVerbs(body, responder, where, stop).table()
    server = ControlServer(options.control, verbs)
    await server.open()
    try:
        yield
    finally:
        await server.close()


@asynccontextmanager
async def _ends_with_parent(options: Namespace, stop: asyncio.Event) -> AsyncIterator[None]:
    watches = []
    if options.until_stdin_closes:
        watches.append(asyncio.ensure_future(stdin_closed(stop)))
    if options.parent_pid is not None:
        watches.append(asyncio.ensure_future(parent_gone(options.parent_pid, stop)))
    try:
        yield
    finally:
        for watch in watches:
            watch.cancel()
        await asyncio.gather(*watches, return_exceptions=True)


def scene_spec(options: Namespace) -> SceneSpec:
    return SceneSpec(
        megapixels=options.megapixels, film_format=options.film_format, tone=options.tone, colour=options.colour,
        frames=options.frames, strip=options.strip, seed=options.seed, script=options.script,
    )  # fmt: skip


def body_spec(options: Namespace) -> BodySpec:
    width, height = SENSORS[options.megapixels]
    return BodySpec(
        width, height, options.serial, options.compression, options.live_gain, options.card_megabytes << 20,
        not options.whole_files, options.first_number, timedelta(seconds=options.clock_offset),
        InFolder(options.card_folder) if options.card_folder else InMemory(),
    )  # fmt: skip
