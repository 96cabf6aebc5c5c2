"""The board goes away in mid-move, in every way it can: motion stops, the place is found again, none counts twice."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from advancing import Advancing, advancing

from rigd.model.events import Advanced, Troubled, TroubleOver
from rigd.model.events_feed import FilmEnded, MoveIntended

if TYPE_CHECKING:
    from conftest import Advancer, Simulated

Trouble = Callable[[Advancing], Awaitable[object]]


async def _pull_the_cable(rig: Advancing) -> None:
    await rig.board.acall("plug", on=False)


async def _plug_it_in(rig: Advancing) -> None:
    await rig.board.acall("plug", on=True)


async def _restart(rig: Advancing) -> None:
    await rig.board.acall("reset", why="watchdog")


async def _fall_silent(rig: Advancing) -> None:
    """Its clock stands still: no answer, no step."""
    await rig.board.acall("pace", how="held")


async def _speak_again(rig: Advancing) -> None:
    await rig.board.acall("pace", how="real")


async def _drop_out(rig: Advancing) -> None:
    """A motor wire comes off: the driver says so, and the board stops."""
    await rig.board.acall("pin", name="fault", on=True)


async def _mended(rig: Advancing) -> None:
    await rig.board.acall("pin", name="fault", on=False)


async def _nothing(_: Advancing) -> None:
    return


@pytest.mark.parametrize(
    ("break_it", "mend_it"),
    [(_pull_the_cable, _plug_it_in), (_restart, _nothing), (_fall_silent, _speak_again), (_drop_out, _mended)],
    ids=["cable pulled", "boot in mid-job", "silent board", "motor fault"],
)
async def test_a_board_that_goes_in_mid_move(
    break_it: Trouble, mend_it: Trouble, simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    # Three places are told of a strip of four: that it goes on is called, too.
    async with advancing(tmp_path, simulated, advancer, places=3) as rig:
        await rig.into_gate(1)
        await rig.trigger()
        await rig.hear(Advanced)
        await rig.hear(MoveIntended)
        await rig.moving()
        await break_it(rig)
        trouble = await rig.hear(Troubled)
        assert isinstance(trouble, Troubled)
        assert trouble.code.startswith(("board", "film", "motion")), trouble
        assert trouble.remedy
        await rig.at_rest()
        assert rig.places() in ([(1, 1)], [(1, 1), (1, 2)])
        await mend_it(rig)
        await rig.board_answers()
        await rig.verbs.recover()
        await rig.hear(TroubleOver)
        await rig.at_rest()
        await rig.trigger()
        await rig.hear(FilmEnded)
        assert rig.places() == [(1, 1), (1, 2), (1, 3)]
        goes_on = await rig.hear(Troubled)
        assert isinstance(goes_on, Troubled)
        assert goes_on.code == "strip-goes-on"
        assert all(len(frame.keeper) == 1 for frame in rig.frames)
        rig.all_true()
        assert rig.daemon.desk.state.moving is None


async def test_garbage_on_the_line_changes_nothing(simulated: Simulated, advancer: Advancer, tmp_path: Path) -> None:
    """Bytes lost, flipped, and foreign ones, while the film moves: the line finds its feet again by itself."""
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.into_gate(1)
        await rig.trigger()
        for way, how in (("out", "flip"), ("in", "lose"), ("out", "lose")):
            await rig.hear(Advanced)
            await rig.hear(MoveIntended)
            await rig.board.acall("stuff", way=way, hex="00ff3c3c0a7e23")
            await rig.board.acall("spoil", way=way, how=how, skip=3, count=9, mask=0x55)
        await rig.hear(FilmEnded)
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        assert not [event for event in rig.heard if isinstance(event, Troubled)]
        assert all(move.why == "done" for move in rig.moves() if move.frame_id)
        rig.all_true()
