"""The board's pedals through the real driver: port Trigger (rigd/ports.py)."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from tests.contract.board.bed import Bed

from rigd.drivers.board import BoardClient, BoardPedals
from rigd.drivers.pedal import Timing
from rigd.errors import BoardLost
from rigd.ports import Change, Press, Trigger


@pytest.fixture
async def pedals(bed: Bed, client: BoardClient) -> AsyncIterator[BoardPedals]:
    made = BoardPedals(client, bed.clock)
    await bed.during(made.open())
    yield made
    await made.close()


def port_fits(pedals: BoardPedals) -> Trigger:
    return pedals


async def hold(bed: Bed, name: str, seconds: float) -> None:
    bed.call("pin", name=name, on=True)
    await bed.pass_time(seconds)
    bed.call("pin", name=name, on=False)
    await bed.pass_time(0.05)


async def test_short_long_and_double(bed: Bed, pedals: BoardPedals) -> None:
    began = bed.clock.monotonic()
    await hold(bed, "pedal1", 0.1)
    short = await bed.during(pedals.next())
    assert short == Press("board pedal 1", "short", pytest.approx(began, abs=0.02))  # type: ignore[arg-type]
    await hold(bed, "pedal2", 0.8)
    assert isinstance(long := await bed.during(pedals.next()), Press)
    assert (long.source, long.gesture) == ("board pedal 2", "long")
    await hold(bed, "pedal1", 0.1)
    await hold(bed, "pedal1", 0.1)
    assert isinstance(double := await bed.during(pedals.next()), Press)
    assert double.gesture == "double"
    await bed.pass_time(1.0)


async def test_a_long_press_is_told_while_it_is_held(bed: Bed, pedals: BoardPedals) -> None:
    bed.call("pin", name="pedal1", on=True)
    began = bed.clock.monotonic()
    assert isinstance(long := await bed.during(pedals.next()), Press)
    assert long.gesture == "long"
    assert bed.clock.monotonic() - began == pytest.approx(0.6, abs=0.05)
    bed.call("pin", name="pedal1", on=False)
    await bed.pass_time(1.0)


async def test_with_short_presses_alone_it_is_told_at_once(bed: Bed, client: BoardClient) -> None:
    pedals = BoardPedals(client, bed.clock, Timing(long=None, double=None))
    await bed.during(pedals.open())
    bed.call("pin", name="pedal1", on=True)
    began = bed.clock.monotonic()
    assert isinstance(short := await bed.during(pedals.next()), Press)
    assert short.gesture == "short"
    assert bed.clock.monotonic() - began < 0.02
    await pedals.close()


async def test_film_and_stop_are_told(bed: Bed, pedals: BoardPedals) -> None:
    bed.call("film", lead=-100, length=5000)
    assert await bed.during(pedals.next()) == Change("board", "film in")
    bed.call("film", length=0)
    assert await bed.during(pedals.next()) == Change("board", "film out")
    bed.call("pin", name="stop", on=True)
    assert await bed.during(pedals.next()) == Change("board", "stop", "input")


async def test_a_board_that_goes_and_comes_back(bed: Bed, client: BoardClient, pedals: BoardPedals) -> None:
    """Its pedals work again by themselves; its motor waits until somebody has looked after the film."""
    bed.plug(False)
    gone = await bed.during(pedals.next())
    assert isinstance(gone, Change)
    assert gone.what == "gone"
    bed.plug(True)
    assert await bed.during(pedals.next()) == Change("board", "back")
    await hold(bed, "pedal1", 0.1)
    assert isinstance(await bed.during(pedals.next()), Press)
    with pytest.raises(BoardLost):
        await bed.during(client.advance(1.0))
    await bed.during(client.ready())
    assert (await bed.during(client.advance(1.0))).why == "done"


async def test_a_restart_is_told(bed: Bed, client: BoardClient, pedals: BoardPedals) -> None:
    bed.call("reset", why="brownout")
    assert await bed.during(pedals.next()) == Change("board", "restarted", "brownout")
    assert await bed.during(pedals.next()) == Change("board", "back")
    with pytest.raises(BoardLost):
        await bed.during(client.advance(1.0))
