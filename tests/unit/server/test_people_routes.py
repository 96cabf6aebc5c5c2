"""Letting in, listing, sending away, and control, over HTTP on the real app. No outside source but those named."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest
from tests.unit.server.serving import House, house

from rigd.operations import rolls
from rigd.server import Role

ELSEWHERE = "192.0.2.31"  # RFC 5737: an address for documentation


@pytest.fixture
async def home(tmp_path: Path) -> AsyncIterator[House]:
    async with house(tmp_path) as built:
        yield built


def code_of(reply: httpx.Response) -> tuple[int, str]:
    return reply.status_code, reply.json()["code"]


async def enter(home: House, code: str, address: str = ELSEWHERE, name: str = "phone") -> httpx.Response:
    async with home.browser(role=None, address=address) as stranger:
        return await stranger.post("/api/session", json={"code": code, "name": name})


async def test_a_phone_is_let_in_by_the_letters_it_types(home: House) -> None:
    async with home.browser() as host:
        assert (await host.get("/api/pairing")).json()["open"] is None
        offer = (await host.post("/api/pairing", json={"role": "operator"})).json()
        assert (await host.get("/api/pairing")).json()["open"]["wrong"] == 0
        entered = await enter(home, offer["typed"].lower().replace("-", " "))
        assert entered.json() == {"id": 2, "name": "phone", "role": "operator", "local": False}
        assert (await host.get("/api/pairing")).json()["open"] is None
        listed = (await host.get("/api/devices")).json()
    assert [(d["name"], d["role"], d["address"], d["you"]) for d in listed] == [
        ("page", "host", "127.0.0.1", True), ("phone", "operator", ELSEWHERE, False),
    ]  # fmt: skip


async def test_a_host_link_is_of_no_use_on_another_machine(home: House) -> None:
    code = home.book.invite(Role.HOST)
    assert code_of(await enter(home, code)) == (403, "host-only")
    assert (await enter(home, code, "127.0.0.1")).json()["role"] == "host"


@pytest.mark.parametrize(("role", "address"), [(Role.OPERATOR, "127.0.0.1"), (Role.HOST, ELSEWHERE)])
async def test_pairing_and_devices_are_the_hosts_on_its_own_machine(home: House, role: Role, address: str) -> None:
    async with home.browser(role, address=address) as page:
        for path, body in (
            ("/api/pairing", {}), ("/api/pairing/shut", {}), ("/api/devices", {"name": "x"}),
            ("/api/devices/1/revoke", {}), ("/api/devices/1/name", {"name": "x"}),
        ):  # fmt: skip
            assert code_of(await page.post(path, json=body)) == (403, "role")
        for path in ("/api/pairing", "/api/devices"):
            assert code_of(await page.get(path)) == (403, "role")
    assert home.book.codes.pairing is None
    assert len(home.book.listed()) == 1


async def test_a_device_is_sent_away(home: House) -> None:
    async with home.browser() as host, home.browser(Role.OPERATOR, address=ELSEWHERE) as phone:
        assert (await phone.get("/api/state")).status_code == 200
        (one,) = [d for d in (await host.get("/api/devices")).json() if d["role"] == "operator"]
        assert (await host.post(f"/api/devices/{one['id']}/revoke", json={})).json() == {"done": True}
        assert code_of(await phone.get("/api/state")) == (401, "no-session")
        assert code_of(await host.post(f"/api/devices/{one['id']}/revoke", json={})) == (404, "not-found")


async def test_a_device_ends_its_own_session(home: House) -> None:
    async with home.browser(Role.VIEWER, address=ELSEWHERE) as phone:
        assert (await phone.post("/api/session/end", json={})).status_code == 200
        assert code_of(await phone.get("/api/session")) == (401, "no-session")


async def test_a_device_gets_another_name_and_the_ledger_carries_it(home: House) -> None:
    async with home.browser() as host, home.browser(Role.OPERATOR, address=ELSEWHERE) as phone:
        number = (await phone.get("/api/session")).json()["id"]
        renamed = await host.post(f"/api/devices/{number}/name", json={"name": "red phone"})
        assert renamed.json()["name"] == "red phone"
        assert code_of(await host.post("/api/devices/99/name", json={"name": "x"})) == (404, "not-found")
        assert (await phone.post("/api/pause", json={})).status_code == 200
    events = await home.desk.hub.ledger.read()
    assert events[-1].event.by == "red phone"  # type: ignore[union-attr]  # it is Paused


@pytest.mark.parametrize("name", ["", "x" * 41, "a\nb", "a\x00"])
def test_names_that_would_garble_a_list_are_refused(name: str) -> None:
    from pydantic import ValidationError

    from rigd.server.wire.people import RenameRequest

    with pytest.raises(ValidationError):
        RenameRequest(name=name)


async def test_a_program_is_let_in_by_a_token_and_may_look_only(home: House) -> None:
    async with home.browser() as host:
        made = (await host.post("/api/devices", json={"name": "monitor"})).json()
    async with home.browser(role=None, address=ELSEWHERE) as monitor:
        monitor.headers["Authorization"] = f"Bearer {made['token']}"
        assert (await monitor.get("/metrics")).status_code == 200
        assert code_of(await monitor.post("/api/pause", json={})) == (403, "role")


async def test_one_works_the_rig_and_another_takes_over(home: House) -> None:
    """Two operators with their pages open; each page is a live line, here a seat in its place."""
    await rolls.open_job(home.desk, title="survey")
    roll = await rolls.plan_roll(home.desk, label="North quay 3", film_format_name="120-6x6")
    async with home.browser(Role.OPERATOR) as first, home.browser(Role.OPERATOR) as second:
        for session in home.book.listed():
            home.guard.control.join(session)
        open_it = f"/api/rolls/{roll.roll_id}/open"
        assert (await first.post(open_it, json={})).status_code == 200
        assert (await second.get("/api/control")).json() == {"holder": {"id": 1, "name": "page"}}
        assert code_of(await second.post("/api/strips", json={})) == (409, "control")
        assert (await second.post("/api/pause", json={})).status_code == 200, "whoever sees danger may pause"
        assert (await second.post("/api/control", json={"hold": True})).json()["holder"]["id"] == 2
        assert code_of(await first.post("/api/resume", json={})) == (409, "control")
        assert (await second.post("/api/resume", json={})).status_code == 200
        assert (await second.post("/api/strips", json={})).status_code == 201
        assert (await second.post("/api/control", json={"hold": False})).json() == {"holder": None}
        assert (await first.post("/api/skip", json={})).status_code == 200


async def test_a_viewer_cannot_take_control(home: House) -> None:
    async with home.browser(Role.VIEWER) as page:
        assert code_of(await page.post("/api/control", json={"hold": True})) == (403, "role")
        assert (await page.get("/api/control")).json() == {"holder": None}
