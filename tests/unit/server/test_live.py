"""The live line over a real socket: handshake, snapshot, events without a gap, and what a client may not do.
Sources: RFC 6455 (close codes, handshake), OWASP WebSocket cheat sheet (Origin, session at the handshake)."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from tests.browser.vector_stories import committed
from tests.unit.server.serving import Served, served
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidStatus

from rigd.hub import Refused
from rigd.model.events import Paused, Resumed
from rigd.model.events_later import StripsChanged
from rigd.model.reduce import fold
from rigd.model.values import Roll
from rigd.operations import rolls
from rigd.server.wire import live as wire


@pytest.fixture
async def running(tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        yield found


def line(running: Served, **headers: str) -> connect:
    return connect(running.live_url, additional_headers={**running.page, **headers}, compression=None)


async def told(socket: ClientConnection) -> dict[str, Any]:
    message = json.loads(await asyncio.wait_for(socket.recv(), 10))
    assert isinstance(message, dict)
    return message


async def plan(running: Served, label: str) -> Roll:
    return await rolls.plan_roll(running.house.desk, label=label, film_format_name="120-6x6", expected=(12, 12))


async def test_a_handshake_without_origin_is_for_the_command_line_only(running: Served) -> None:
    cookie = running.house.cookie()
    with pytest.raises(InvalidStatus):
        async with connect(running.live_url, additional_headers=cookie):
            pass
    token = {"Authorization": f"Bearer {running.house.book.run_token()}"}
    async with connect(running.live_url, additional_headers=token) as socket:
        assert (await told(socket))["kind"] == "snapshot"


async def test_events_follow_the_snapshot_without_a_gap(running: Served) -> None:
    hub = running.house.desk.hub
    await rolls.open_job(running.house.desk, title="survey")

    async def busy() -> None:
        for _ in range(40):
            await hub.append(Paused("page"), Resumed("page"))

    working = asyncio.create_task(busy())
    async with line(running) as first, line(running) as second:
        for socket in (first, second):
            snapshot = await told(socket)
            assert snapshot["kind"] == "snapshot"
            assert snapshot["seq"] == snapshot["state"]["seq"]
            heard = [(await told(socket))["seq"] for _ in range(81 - snapshot["seq"])]
            assert heard == list(range(snapshot["seq"] + 1, 82))
    await working


async def test_notices_come_too_and_carry_their_type(running: Served) -> None:
    async with line(running) as socket:
        snapshot = await told(socket)
        assert snapshot["vitals"]["type"] == "vitals"
        running.house.desk.hub.notice(Refused("busy", "One thing at a time.", "", "Wait.", "page"))
        notice = await told(socket)
    assert (notice["kind"], notice["notice"]["type"], notice["notice"]["code"]) == ("notice", "refused", "busy")


async def test_another_roll_comes_with_a_snapshot_that_has_it_in_full(running: Served) -> None:
    desk = running.house.desk
    await rolls.open_job(desk, title="survey")
    first, second = await plan(running, "North quay 1"), await plan(running, "North quay 2")
    await rolls.open_roll(desk, roll_id=first.roll_id)
    await rolls.load_strip(desk, places=4)
    async with line(running) as socket:
        assert set((await told(socket))["state"]["rolls"][first.roll_id]["strips"]) == {"s-0001"}
        await rolls.open_roll(desk, roll_id=second.roll_id)
        snapshot, event = await told(socket), await told(socket)
        assert snapshot["state"]["roll_id"] == second.roll_id
        assert snapshot["state"]["rolls"][first.roll_id]["strips"] == {}
        assert (event["kind"], event["event"]["type"]) == ("event", "RollOpened"), "and no event is swallowed"
        await rolls.open_roll(desk, roll_id=first.roll_id)
        assert set((await told(socket))["state"]["rolls"][first.roll_id]["strips"]) == {"s-0001"}


async def test_a_client_may_ask_for_a_fresh_snapshot(running: Served) -> None:
    async with line(running) as socket:
        await told(socket)
        await socket.send('{"kind": "fresh"}')
        assert (await told(socket))["kind"] == "snapshot"


async def test_a_page_may_ask_whether_it_shows_the_truth(running: Served) -> None:
    async with line(running) as socket:
        seq = (await told(socket))["seq"]
        await socket.send(json.dumps({"kind": "ask", "seq": seq}))
        assert await told(socket) == {"kind": "here", "seq": seq}
        await socket.send(json.dumps({"kind": "ask", "seq": seq - 1}))
        assert (await told(socket))["kind"] == "snapshot"


async def test_frames_that_change_their_roll_come_with_a_snapshot(running: Served) -> None:
    """Of other rolls the page has the label only: it could not fold what moves out of them."""
    desk = running.house.desk
    await rolls.open_job(desk, title="survey")
    first, second = await plan(running, "North quay 1"), await plan(running, "North quay 2")
    await rolls.open_roll(desk, roll_id=first.roll_id)
    strip = await rolls.load_strip(desk, places=4)
    await rolls.open_roll(desk, roll_id=second.roll_id)
    async with line(running) as socket:
        assert (await told(socket))["state"]["rolls"][second.roll_id]["strips"] == {}
        await desk.hub.append(StripsChanged((replace(strip, roll_id=second.roll_id),), (strip,), "wrong roll", "page"))
        snapshot, event = await told(socket), await told(socket)
    assert set(snapshot["state"]["rolls"][second.roll_id]["strips"]) == {strip.strip_id}
    assert event["event"]["type"] == "StripsChanged"


async def test_everybody_hears_who_works_the_rig(running: Served) -> None:
    control = running.house.guard.control
    async with line(running) as first, line(running) as second:
        assert [(await told(socket))["control"] for socket in (first, second)] == [None, None]
        one, two = (session for session in running.house.book.listed())
        control.take(one)
        for socket in (first, second):
            assert await told(socket) == {"kind": "control", "control": {"id": one.session_id, "name": one.name}}
        control.take(two)
        for socket in (first, second):
            assert (await told(socket))["control"]["id"] == two.session_id


async def test_control_falls_free_when_its_holder_goes(running: Served) -> None:
    async with line(running) as watching:
        await told(watching)
        async with line(running) as holding:
            await told(holding)
            running.house.guard.control.take(running.house.book.listed()[-1])
            assert (await told(watching))["control"] is not None
        assert await told(watching) == {"kind": "control", "control": None}


async def test_the_line_of_a_session_that_is_sent_away_closes(running: Served) -> None:
    async with line(running) as phone, line(running) as other:
        await told(phone)
        await told(other)
        running.house.book.revoke(running.house.book.listed()[0].session_id)
        with pytest.raises(ConnectionClosed) as closed:
            await told(phone)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == 1008
        await other.send('{"kind": "fresh"}')
        assert (await told(other))["kind"] == "snapshot"


@pytest.mark.parametrize(
    "text", ["", "no json", "[]", '{"kind": "unknown"}', '{"kind": "watch"}', '{"kind": "seen", "picture": "1"}']
)
async def test_what_cannot_be_read_ends_the_line(running: Served, text: str) -> None:
    async with line(running) as socket:
        await told(socket)
        await socket.send(text)
        with pytest.raises(ConnectionClosed) as closed:
            await told(socket)
    assert closed.value.rcvd is not None
    assert closed.value.rcvd.code == 1003


async def test_twenty_commands_a_second_acknowledgements_apart(running: Served) -> None:
    async with line(running) as socket:
        await told(socket)
        for _ in range(60):
            await socket.send('{"kind": "seen", "picture": 1}')
        await socket.send('{"kind": "fresh"}')
        assert (await told(socket))["kind"] == "snapshot"
        for _ in range(25):
            await socket.send('{"kind": "watch", "live": false}')
        with pytest.raises(ConnectionClosed) as closed:
            await told(socket)
    assert closed.value.rcvd is not None
    assert closed.value.rcvd.code == 1008


async def test_the_line_ends_when_the_hub_closes(running: Served) -> None:
    async with line(running) as socket:
        await told(socket)
        running.house.desk.hub.close()
        with pytest.raises(ConnectionClosed) as closed:
            await told(socket)
    assert closed.value.rcvd is not None
    assert closed.value.rcvd.code == 1001


def test_of_other_rolls_the_page_gets_the_label_only() -> None:
    state = fold(committed("troubled_day"))
    page = wire.page_state(state)
    assert state.roll_id is not None
    assert page.rolls[state.roll_id] == state.rolls[state.roll_id]
    others = [roll for key, roll in page.rolls.items() if key != state.roll_id]
    assert others
    assert all(roll.frames == {} == roll.takes == roll.strips for roll in others)
