"""Sixteen clients watch at 25 live pictures a second, one too slow and one that takes nothing: the frame is taken
all the same, and the others see the newest picture. No outside source: the rule is the project's own; no time is
tested here, `make speed` does that."""

from __future__ import annotations

import asyncio
import contextlib
import json
from pathlib import Path
from typing import TYPE_CHECKING

from rigs import nonce, paper_work, settings_for
from websockets.asyncio.client import ClientConnection, connect

from rigd.app.daemon import Daemon, running_daemon
from rigd.client import remote_verbs
from rigd.config import SettleSection
from rigd.hub import Hub
from rigd.model.words import Stage

if TYPE_CHECKING:
    from conftest import Simulated

CLIENTS = 16


class Phone:
    """One client; `seen`: the numbers of its pictures; `acknowledges` false: it never says that it has shown one."""

    def __init__(self, line: ClientConnection, acknowledges: bool = True) -> None:
        self.line = line
        self.acknowledges = acknowledges
        self.seen: list[int] = []
        self.events: list[int] = []
        self.more = asyncio.Event()

    async def run(self) -> None:
        await self.line.send('{"kind": "watch", "live": true, "rate": 25}')
        async for message in self.line:
            if isinstance(message, bytes):
                assert message.startswith(b"\xff\xd8"), "a JPEG"
                self.more.set()
                if self.acknowledges:
                    await self.acknowledge()
                continue
            told = json.loads(message)
            if told["kind"] == "picture":
                self.seen.append(told["number"])
            elif told["kind"] == "event":
                self.events.append(told["seq"])

    async def acknowledge(self) -> None:
        await self.line.send(json.dumps({"kind": "seen", "picture": self.seen[-1]}))

    async def until(self, number: int) -> None:
        """Wait for a picture with at least this number."""
        async with asyncio.timeout(60):
            while not self.seen or self.seen[-1] < number:
                self.more.clear()
                await self.more.wait()


async def joined(daemon: Daemon, stack: contextlib.AsyncExitStack, count: int) -> list[ClientConnection]:
    headers = {"Authorization": f"Bearer {daemon.token}"}
    url = daemon.url.replace("http", "ws", 1) + "/api/live"
    lines = [connect(url, additional_headers=headers, compression=None, max_size=None) for _ in range(count)]
    return [await stack.enter_async_context(line) for line in lines]


async def test_a_frame_is_taken_while_sixteen_watch_and_the_newest_picture_wins(
    simulated: Simulated, tmp_path: Path
) -> None:
    settings = settings_for(simulated.camera).model_copy(update={"settle": SettleSection(delay_s=0.0, measure=False)})
    async with contextlib.AsyncExitStack() as stack:
        daemon = await stack.enter_async_context(running_daemon(tmp_path, settings))
        verbs = await stack.enter_async_context(remote_verbs(daemon.url, daemon.token))
        await daemon.desk.engine().until_idle()
        await paper_work(verbs)
        *lines, mute = await joined(daemon, stack, CLIENTS)
        mute.transport.pause_reading()
        slow, *phones = [Phone(line, acknowledges=number > 0) for number, line in enumerate(lines)]
        group = await stack.enter_async_context(asyncio.TaskGroup())
        tasks = [group.create_task(phone.run()) for phone in (slow, *phones)]
        await asyncio.gather(*(phone.until(3) for phone in phones))
        await slow.until(1)
        before = daemon.desk.engine().live.last[0]

        await verbs.trigger(nonce=nonce(), target="s-0001#1")
        await daemon.desk.engine().until_idle()
        (frame,) = daemon.desk.state.rolls["r-0001"].frames.values()
        assert daemon.desk.state.rolls["r-0001"].takes[frame.keeper[0]].stage is Stage.JUDGED

        newest = daemon.desk.engine().live.last[0] + 3
        await asyncio.gather(*(phone.until(newest) for phone in phones))
        assert newest > before, "live view goes on after the exposure"
        for phone in phones:
            assert phone.seen == sorted(set(phone.seen)), "each picture once, none that is older"
            assert phone.events == list(range(phone.events[0], phone.events[0] + len(phone.events))), "and every event"
        assert len(slow.seen) == 1, "one picture in flight"
        await slow.acknowledge()
        await slow.until(newest)
        assert len(slow.seen) == 2, "what it did not fetch in time it never sees"
        assert all(len(listener._waiting) <= Hub.LIMIT for listener in daemon.desk.hub._listeners)
        for task in tasks:
            task.cancel()
        mute.transport.abort()
