"""The stop: from the page, a pedal, the board's own switch and the command line; latched, and lifted on purpose."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import TYPE_CHECKING

import httpx
import pytest
from advancing import Advancing, advancing

from conftest import environment
from rigd.config import PressesSection
from rigd.errors import MotionStopped
from rigd.model.events import Advanced, AnyEvent, FrameMarked, FrameSkipped, Paused, Troubled
from rigd.model.events_feed import FilmStopped, MoveIntended
from rigd.model.events_later import MarkUndone
from rigd.model.events_watch import Armed
from rigd.operations import feeding
from rigd.operations.verb import Nothing

if TYPE_CHECKING:
    from conftest import Advancer, Simulated

Stop = Callable[[Advancing, Path], Awaitable[object]]


async def _page(rig: Advancing, _: Path) -> None:
    headers = {"Authorization": f"Bearer {rig.daemon.token}"}
    async with httpx.AsyncClient(base_url=rig.daemon.url, headers=headers) as page:
        assert (await page.post("/api/stop", json={})).status_code == 200


async def _pedal(rig: Advancing, _: Path) -> None:
    """A long press stops film that moves, whatever it is assigned to."""
    await rig.press(seconds=0.7)


async def _switch(rig: Advancing, _: Path) -> None:
    await rig.board.acall("pin", name="stop", on=True)


async def _command(rig: Advancing, _: Path) -> None:
    """What `rigd stop` asks the daemon for; a new interpreter takes longer to start than the film moves."""
    await rig.verbs.do(feeding.STOP_FILM, Nothing())


async def _rigd(root: Path, *words: str) -> int:
    command = [sys.executable, "-m", "rigd", *words, "--job", str(root)]
    process = await asyncio.create_subprocess_exec(
        *command, env={**os.environ, **environment()}, stdout=asyncio.subprocess.DEVNULL
    )
    return await process.wait()


async def _stopped_in_mid_move(rig: Advancing, stop: Stop, root: Path) -> None:
    """The motor stands, the stop is latched, and neither a press nor the passing of time moves film."""
    await rig.hear(MoveIntended)
    await rig.moving()
    await stop(rig, root)
    await rig.hear(FilmStopped)
    await rig.at_rest()
    steps = (await rig.board.acall("look"))["steps"]
    await rig.trigger()
    trouble = await rig.hear(Troubled)
    assert isinstance(trouble, Troubled)
    assert trouble.what == "The advancer is stopped."
    await rig.at_rest()
    assert (await rig.board.acall("look"))["steps"] == steps
    assert rig.daemon.desk.state.stopped


async def test_stopped_from_everywhere_and_gone_on(simulated: Simulated, advancer: Advancer, tmp_path: Path) -> None:
    """Four moves of one strip and the next, each stopped from elsewhere; every frame once, and the right one."""
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.into_gate(1)
        await rig.trigger()
        for stop, by in ((_page, "command line"), (_pedal, "board pedal 1"), (_command, "command line")):
            await rig.hear(Advanced)
            await _stopped_in_mid_move(rig, stop, tmp_path)
            assert rig.daemon.desk.state.stopped == by
            assert await _rigd(tmp_path, "clear") == 0
            assert not rig.daemon.desk.state.stopped
            await rig.trigger()
        await rig.ends()
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        rig.all_true()
        assert await _rigd(tmp_path, "stop") == 0
        assert rig.daemon.desk.state.stopped == "command line"


async def test_the_boards_own_switch_holds_until_it_is_released(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.verbs.arm()
        await rig.push_in(1)
        await _stopped_in_mid_move(rig, _switch, tmp_path)
        assert rig.daemon.desk.state.stopped == "stop switch"
        assert not rig.daemon.desk.state.armed
        with pytest.raises(MotionStopped, match="still pressed"):
            await rig.verbs.do(feeding.CLEAR_STOP, Nothing())
        await rig.board.acall("pin", name="stop", on=False)
        await rig.verbs.do(feeding.CLEAR_STOP, Nothing())
        # Nothing moves with the clearing alone.
        steps = (await rig.board.acall("look"))["steps"]
        await rig.verbs.arm()
        assert (await rig.board.acall("look"))["steps"] == steps
        await rig.trigger()
        await rig.hear(Advanced)
        assert rig.places() == [(1, 1)]
        rig.all_true()


OFFERED: dict[str, type[AnyEvent]] = {
    "skip": FrameSkipped, "unexposed": FrameMarked, "undo": MarkUndone, "arm": Armed, "pause": Paused,
}  # fmt: skip


async def test_one_pedal_does_it_all(simulated: Simulated, advancer: Advancer, tmp_path: Path) -> None:
    """Short, long and double presses of the one pedal at the board; a long one offers what has no gesture."""
    async with advancing(tmp_path, simulated, advancer, pedal=PressesSection()) as rig:
        await rig.verbs.do(feeding.FEED_BY, feeding.FeedBy("hand"))
        await rig.into_gate(1)
        await rig.press()
        await rig.hear(Advanced)
        await rig.at_rest()
        (frame,) = rig.frames
        before = len(frame.takes)
        await rig.press(times=2)
        await rig.hear(Advanced)
        assert len(rig.frames[0].takes) > before, "a double press takes it again"
        await rig.at_rest()
        for wanted, comes in OFFERED.items():
            await _offered(rig, wanted)
            await rig.press(seconds=0.7)
            await rig.hear(comes)
        assert not rig.moves()


async def _offered(rig: Advancing, wanted: str) -> None:
    """A long press offers the first action, short ones go on."""
    await rig.press(seconds=0.7)
    await rig.see(lambda vitals: vitals.offered != "")
    while rig.daemon.desk.hub.vitals.offered != wanted:
        offered = rig.daemon.desk.hub.vitals.offered
        await rig.press()
        await rig.see(lambda vitals, before=offered: vitals.offered != before)
