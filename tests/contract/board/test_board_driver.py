"""The real driver on both boards: ports Advancer and Lamp (rigd/ports.py)."""

from __future__ import annotations

import asyncio

import pytest
from tests.contract.board.bed import Bed

from rigd.drivers.board import BoardClient
from rigd.errors import BoardLost, BoardMissing, BoardRefused, Busy, FilmStuck, InputError, MotionStopped, NotReady
from rigd.ports import Advancer, Drive, Lamp, Shine


def ports_fit(client: BoardClient) -> tuple[Advancer, Lamp]:
    """Checked by the type checker."""
    return client, client


async def test_the_board_says_what_it_is(bed: Bed, client: BoardClient) -> None:
    drive = await bed.during(client.ready())
    assert drive == Drive("film advancer", "1.0", 0.0125, 500.0, 100.0, 2, ("white", "red", "green", "blue"))


async def test_nothing_works_before_the_greeting(bed: Bed) -> None:
    client = bed.client()
    with pytest.raises(NotReady):
        await client.advance(1)
    assert bed.count() == 0


async def test_film_is_moved_by_millimetres(bed: Bed, client: BoardClient) -> None:
    assert (await bed.during(client.place(100.0))).sure
    place = await bed.during(client.advance(62.0))
    assert (place.mm, place.sure, place.why) == (162.0, True, "done")
    assert bed.look()["net"] == 4960
    assert (await bed.during(client.advance(-2.5))).mm == 159.5
    assert bed.count() == 4960 + 200


async def test_parts_of_a_step_add_up(bed: Bed, client: BoardClient) -> None:
    """Forty times 0.99 mm at 80 steps/mm are 3168 steps, and not forty times 79."""
    await bed.during(client.setting("ramp", 200000))
    for _ in range(40):
        await bed.during(client.advance(0.99))
    assert bed.look()["net"] == 3168


async def test_a_long_motion_is_kept_going(bed: Bed, client: BoardClient) -> None:
    """3 s, three times the board's patience with a silent host."""
    place = await bed.during(client.advance(260.0))
    assert (place.mm, place.why) == (260.0, "done")


async def test_a_driver_that_is_gone_leaves_the_film_at_rest(bed: Bed, client: BoardClient) -> None:
    moving = asyncio.ensure_future(client.advance(400.0))
    await bed.pass_time(0.5)
    moving.cancel()
    with pytest.raises(asyncio.CancelledError):
        await moving
    await bed.pass_time(0.6)
    at = bed.count()
    assert at < 8000
    await bed.pass_time(2.0)
    assert bed.count() == at


async def test_one_motion_at_a_time(bed: Bed, client: BoardClient) -> None:
    first = asyncio.ensure_future(client.advance(100.0))
    await bed.pass_time(0.2)
    with pytest.raises(Busy):
        await bed.during(client.advance(1.0))
    assert (await bed.during(first)).mm == 100.0


async def test_what_is_beyond_a_limit_is_refused(bed: Bed, client: BoardClient) -> None:
    with pytest.raises(BoardRefused, match="span 40000"):
        await bed.during(client.advance(501.0))
    assert (await bed.during(client.advance(1.0))).mm == 1.0


async def test_the_leading_end_is_found(bed: Bed, client: BoardClient) -> None:
    bed.call("film", lead=1500, length=20000)
    place = await bed.during(client.seek("film", 100))
    assert (place.why, place.film, place.edge_mm) == ("seen", True, 1500 / 80)
    assert place.mm >= 1500 / 80


async def test_the_end_of_the_film_is_told_and_is_no_error(bed: Bed, client: BoardClient) -> None:
    bed.call("film", lead=0, length=3000)
    await bed.pass_time(0.1)
    place = await bed.during(client.advance(200.0))
    assert (place.why, place.film, place.edge_mm) == ("end", False, 3000 / 80)
    assert place.sure is False  # never declared
    gone = await bed.during(client.seek("film", 5))
    assert (gone.why, gone.film) == ("done", False)


async def test_a_stuck_film_is_an_error(bed: Bed, client: BoardClient) -> None:
    await bed.during(client.setting("slack", 760))
    bed.call("film", lead=-200, length=100_000, pitch=380, hole=158)
    await bed.pass_time(0.1)
    await bed.during(client.place(0))
    bed.call("stick", on=True)
    with pytest.raises(FilmStuck, match="does not follow"):
        await bed.during(client.advance(62.0))
    assert (await bed.during(client.place())).sure is False


async def test_a_fault_of_the_motor_driver_is_an_error(bed: Bed, client: BoardClient) -> None:
    moving = asyncio.ensure_future(client.advance(200.0))
    await bed.pass_time(0.3)
    bed.call("pin", name="fault", on=True)
    with pytest.raises(FilmStuck, match="fault"):
        await bed.during(moving)


async def test_the_emergency_stop_acts_beside_a_motion(bed: Bed, client: BoardClient) -> None:
    moving = asyncio.ensure_future(client.advance(400.0))
    await bed.pass_time(0.7)
    before = bed.count()
    await bed.during(client.stop())
    assert bed.count() - before <= 3 * 8  # three bytes of a sixth of a millisecond, at 8 steps a millisecond
    with pytest.raises(MotionStopped):
        await bed.during(moving)
    with pytest.raises(MotionStopped):
        await bed.during(client.advance(1.0))
    place = await bed.during(client.clear())
    assert (place.stopped, place.sure) == (False, False)
    assert (await bed.during(client.advance(1.0))).why == "done"


async def test_the_emergency_stop_does_not_wait_for_the_line(bed: Bed, client: BoardClient) -> None:
    """A command is on its way and is being repeated; the stop does not queue behind it."""
    moving = asyncio.ensure_future(client.advance(400.0))
    await bed.pass_time(0.7)
    bed.call("spoil", way="out", how="lose", count=10_000)  # the board is heard no more
    asking = asyncio.ensure_future(client.shining())
    await bed.pass_time(0.05)
    before = bed.count()
    stopping = asyncio.ensure_future(client.stop())
    await bed.pass_time(0.01)
    assert bed.look()["enabled"] == 0
    assert bed.count() - before <= 3 * 8
    bed.call("spoil", way="out", how="lose", count=0)
    await bed.during(stopping)
    await bed.during(asking)
    with pytest.raises(MotionStopped):
        await bed.during(moving)


async def test_a_pressed_stop_switch_cannot_be_cleared_from_here(bed: Bed, client: BoardClient) -> None:
    bed.call("pin", name="stop", on=True)
    await bed.pass_time(0.1)
    with pytest.raises(MotionStopped, match="still pressed"):
        await bed.during(client.clear())
    bed.call("pin", name="stop", on=False)
    assert (await bed.during(client.clear())).stopped is False


@pytest.mark.parametrize("way", ["in", "out"])
@pytest.mark.parametrize("how", ["lose", "flip"])
async def test_one_spoilt_byte_anywhere_costs_nothing(bed: Bed, client: BoardClient, way: str, how: str) -> None:
    """Each byte of a motion's conversation in turn: one advance, one motion, the right place."""
    await bed.during(client.place(0))
    for skip in range(0, 40, 3):
        bed.call("spoil", way=way, how=how, skip=skip, count=1, mask=0x10)
        await bed.during(client.advance(1.0))
    assert bed.look()["net"] == 14 * 80
    assert (await bed.during(client.place())).mm == 14.0


async def test_a_lost_rest_message_is_found_out_by_asking(bed: Bed, client: BoardClient) -> None:
    moving = asyncio.ensure_future(client.advance(10.0))
    await bed.until(lambda: bed.count() > 700)
    bed.call("spoil", way="out", how="lose", count=30)
    assert (await bed.during(moving)).mm == 10.0


async def test_a_restart_in_motion_loses_the_place(bed: Bed, client: BoardClient) -> None:
    await bed.during(client.place(0))
    moving = asyncio.ensure_future(client.advance(200.0))
    await bed.pass_time(0.3)
    bed.call("reset", why="watchdog")
    with pytest.raises(BoardLost, match="watchdog"):
        await bed.during(moving)
    with pytest.raises(BoardLost, match="restarted"):
        await bed.during(client.advance(1.0))
    await bed.during(client.ready())
    assert (await bed.during(client.place())).sure is False
    assert (await bed.during(client.place(7.0))).sure is True


async def test_a_restart_whose_message_is_lost_is_noticed_all_the_same(bed: Bed, client: BoardClient) -> None:
    moving = asyncio.ensure_future(client.advance(200.0))
    await bed.pass_time(0.3)
    bed.call("spoil", way="out", how="lose", count=29)
    bed.call("reset", why="brownout")
    with pytest.raises(BoardLost, match="restarted"):
        await bed.during(moving)


async def test_a_pulled_cable_stops_the_film_and_is_told(bed: Bed, client: BoardClient) -> None:
    moving = asyncio.ensure_future(client.advance(400.0))
    await bed.pass_time(0.5)
    bed.plug(False)
    with pytest.raises(BoardLost):
        await bed.during(moving)
    bed.advance(2_000_000)
    assert bed.count() < 16000  # the board's own watch: a second, and the ramp
    with pytest.raises(BoardMissing):
        await bed.during(client.ready())
    bed.plug(True)
    await bed.during(client.ready())
    assert (await bed.during(client.advance(1.0))).why == "done"


async def test_a_port_that_resets_the_board_is_greeted_until_it_answers(bed: Bed) -> None:
    """Opening pulses DTR on real boards; the bootloader then swallows what comes for about 1.5 s."""
    bed.call("reset_on_open", on=True)
    client = bed.client()
    drive = await bed.during(client.ready())
    assert drive.name == "film advancer"
    assert (await bed.during(client.advance(1.0))).why == "done"
    await client.close()


async def test_nobody_at_the_port(bed: Bed) -> None:
    bed.plug(False)
    with pytest.raises(BoardMissing):
        await bed.during(bed.client().ready())


async def test_a_port_in_use_is_not_shared(bed: Bed, client: BoardClient) -> None:
    with pytest.raises(BoardMissing, match="cannot be opened"):
        await bed.during(bed.client().ready())
    assert (await bed.during(client.place())).mm == 0


async def test_the_lamp_shines_and_warms_up(bed: Bed, client: BoardClient) -> None:
    with pytest.raises(NotReady):
        await bed.during(client.warmed())
    assert await bed.during(client.shine(1.0)) == Shine("white", 1.0, 5.0)
    before = bed.clock.us
    assert (await bed.during(client.warmed())).warm_in_s == 0
    assert 4.8e6 < bed.clock.us - before < 5.3e6
    assert await bed.during(client.shine(0.5, "green")) == Shine("green", 128 / 255, 0)
    assert bed.look()["lamp"] == [0, 0, 128, 0]
    assert (await bed.during(client.shine(0))).level == 0
    with pytest.raises(InputError):
        await client.shine(1.0, "ultraviolet")


async def test_settings_are_kept_on_the_board(bed: Bed, client: BoardClient) -> None:
    assert await bed.during(client.setting("gear", 40000)) == 40000
    assert await bed.during(client.setting("gear")) == 40000
    assert (await bed.during(client.ready())).mm_per_step == 0.025
    await bed.during(client.advance(10))
    assert bed.count() == 400
    with pytest.raises(BoardRefused):
        await bed.during(client.setting("gear", 1))
    with pytest.raises(BoardRefused):
        await bed.during(client.setting("colour"))


async def test_two_hundred_round_trips_lose_nothing(bed: Bed, client: BoardClient) -> None:
    # The greeting is repeated until it is answered; an answer to the first one that comes late is none of these trips'.
    await bed.during(client.place())
    before = (client.link.noise, client.link.missed)
    for _ in range(200):
        assert (await bed.during(client.place())).mm == 0
    assert (client.link.noise, client.link.missed) == before
