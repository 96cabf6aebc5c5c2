"""The command line's verbs over HTTP: the same values come back as from the operations, and the same errors."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest
from tests.unit.server.serving import Served, served

from rigd.client import RemoteVerbs, remote_verbs
from rigd.client.wire import Wire
from rigd.errors import Busy, InputError, NotFound, NotReady, RigdError
from rigd.model.values import Roll
from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone
from rigd.operations import looking, rolls, verifying


@pytest.fixture
async def running(tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        yield found


@pytest.fixture
async def verbs(running: Served) -> AsyncIterator[RemoteVerbs]:
    async with remote_verbs(running.url, running.house.book.run_token()) as found:
        yield found


async def plan(verbs: RemoteVerbs, label: str = "North quay / 3") -> Roll:
    await verbs.open_job(title="survey of the quays", default_base=BaseType.SAFETY)
    return await verbs.plan_roll(
        label=label, film_format_name="120-6x6", tone=Tone.NEGATIVE, colour=Colour.MONO, expected=(12, 13),
        strip_places=4, base_type=None, stock="", process="", where="box 2",
    )  # fmt: skip


async def test_a_roll_from_plan_to_end(verbs: RemoteVerbs, running: Served) -> None:
    desk = running.house.desk
    roll = await plan(verbs)
    assert roll == desk.state.rolls[roll.roll_id].roll
    assert roll.base_type is BaseType.SAFETY, "as the job has it"
    # By its label, with a slash and blanks in it, as it is written on the sleeve.
    assert await verbs.open_roll(roll_id=roll.label) == roll
    strip = await verbs.load_strip(places=None, emulsion=Emulsion.UP, turn=180)
    assert strip == desk.state.strip
    assert (strip.places, strip.emulsion, strip.turn) == (4, Emulsion.UP, 180)
    after = await verbs.skip(target=f"{strip.strip_id}#1")
    assert after.target == desk.state.target == f"{strip.strip_id}#2"
    await verbs.mark(frame_id="f-00001", film=Film.UNEXPOSED)
    assert desk.state.rolls[roll.roll_id].frames["f-00001"].by == "command line"
    assert await verbs.tally() == await rolls.tally(desk)
    assert await verbs.list_rolls() == await rolls.list_rolls(desk)
    assert await verbs.close_roll(roll_id=roll.roll_id) == await rolls.tally(desk)


async def test_status_is_the_whole_state_to_the_last_field(verbs: RemoteVerbs, running: Served) -> None:
    first = await plan(verbs)
    await verbs.open_roll(roll_id=first.roll_id)
    await verbs.load_strip(places=4)
    second = await plan(verbs, "North quay 4")
    await verbs.open_roll(roll_id=second.roll_id)
    await verbs.describe_setup(holder="film holder", lens="105 mm macro", f_number=11.0, iso=200, lamp="panel")
    assert await verbs.status() == await looking.status(running.house.desk)


async def test_verify_reports_as_the_operation_does(verbs: RemoteVerbs, running: Served) -> None:
    assert await verbs.verify() == await verifying.verify(running.house.desk)


async def test_errors_come_back_as_what_they_were(verbs: RemoteVerbs) -> None:
    with pytest.raises(NotReady) as early:
        await verbs.tally()
    assert early.value.remedy == "Name one, or open one."
    roll = await plan(verbs)
    with pytest.raises(InputError, match="already"):
        await plan(verbs)
    with pytest.raises(NotFound, match="no roll"):
        await verbs.open_roll(roll_id="nobody knows")
    await verbs.open_roll(roll_id=roll.roll_id)
    with pytest.raises(NotReady, match="No camera"):
        await verbs.trigger(target="new#1")
    with pytest.raises(NotReady, match="No camera"):
        await verbs.check()


async def test_a_wrong_token_is_told_as_the_daemon_tells_it(running: Served) -> None:
    async with remote_verbs(running.url, "wrong") as stranger:
        with pytest.raises(RigdError, match="not been let in"):
            await stranger.status()


async def test_quit_asks_the_daemon_to_end(verbs: RemoteVerbs, running: Served) -> None:
    await verbs.quit()
    assert running.house.left == [True]


async def test_nobody_there_is_said_plainly(tmp_path: Path) -> None:
    async with served(tmp_path) as gone:
        pass
    async with remote_verbs(gone.url, "any") as verbs:
        with pytest.raises(NotReady, match="does not answer"):
            await verbs.status()


@pytest.mark.parametrize(
    ("reply", "kind", "words"),
    [
        (httpx.Response(409, json={"title": "One thing at a time.", "code": "busy"}), Busy, "One thing"),
        (httpx.Response(500, json={"title": "Odd.", "code": "from-a-newer-rigd"}), RigdError, "Odd"),
        (httpx.Response(502, text="<html>"), RigdError, "502"),
    ],
)
async def test_whatever_is_answered_becomes_an_error_of_ours(
    reply: httpx.Response, kind: type[RigdError], words: str
) -> None:
    async with Wire("http://127.0.0.1:1", "t", httpx.MockTransport(lambda _: reply)) as wire:
        with pytest.raises(kind, match=words):
            await wire.get("/api/state", dict)
