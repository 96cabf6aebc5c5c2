"""Runs the simulated board as a process: twin, pseudo terminal, control socket and the scene in one event loop."""

from __future__ import annotations

import asyncio
import json
import signal
from argparse import Namespace
from collections.abc import AsyncIterator, Coroutine
from contextlib import AsyncExitStack, asynccontextmanager

from rigd_sim.board.arguments import parser
from rigd_sim.board.bed import Bed
from rigd_sim.board.stage import Stage
from rigd_sim.board.terminal import Terminal
from rigd_sim.camera.watch import parent_gone, stdin_closed
from rigd_sim.control.server import ControlServer

_PAST_GATE_MM = 60.0  # half of the longest usual picture and some: the last frame still reaches the gate's middle


def main(arguments: list[str]) -> int:
    options = parser().parse_args(arguments)
    asyncio.run(run(options))
    return 0


async def run(options: Namespace) -> None:
    """Serve until told to stop."""
    stop = asyncio.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, stop.set)
    terminal = Terminal(options.pty)
    try:
        bed = Bed(terminal, options.held, options.speed)
        _build(bed, options)
        async with AsyncExitStack() as stack:
            await _serve(stack, bed, options, stop)
            print(json.dumps({"ready": True, "pty": str(options.pty)}), flush=True)
            await stop.wait()
    finally:
        terminal.unplug()


def _build(bed: Bed, options: Namespace) -> None:
    """The settings that a calibrated board of this rig would have."""
    settings = bed.line.board.settings
    if options.scene is not None:
        settings.keep("overrun", round((options.sensor_mm + _PAST_GATE_MM) * settings["gear"] / 1000))
    for name, value in options.keep:
        settings.keep(name, value)


async def _serve(stack: AsyncExitStack, bed: Bed, options: Namespace, stop: asyncio.Event) -> None:
    if options.scene is not None:
        stage = Stage(options.scene, bed.outside, options.sensor_mm)
        stack.callback(stage.close)
        await stack.enter_async_context(_running(stage.follow(lambda: bed.line.board)))
    if options.control is not None:
        server = ControlServer(options.control, bed.verbs() | {"quit": stop.set})
        await server.open()
        stack.push_async_callback(server.close)
    await stack.enter_async_context(_running(bed.run(), stop))
    if options.until_stdin_closes:
        await stack.enter_async_context(_running(stdin_closed(stop)))
    if options.parent_pid is not None:
        await stack.enter_async_context(_running(parent_gone(options.parent_pid, stop)))


@asynccontextmanager
async def _running(work: Coroutine[object, object, None], stop: asyncio.Event | None = None) -> AsyncIterator[None]:
    """Runs it beside; with `stop`, nothing goes on without it. What it failed of is raised at the end."""
    task = asyncio.ensure_future(work)
    if stop is not None:
        task.add_done_callback(lambda _: stop.set())
    try:
        yield
    finally:
        task.cancel()
        (failed,) = await asyncio.gather(task, return_exceptions=True)
    if isinstance(failed, Exception):
        raise failed
