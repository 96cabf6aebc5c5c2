"""Figures for a monitor. Source: the text format of Prometheus, exposition format 0.0.4 (lines, escapes, counters)."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.unit.server.serving import House, house

from rigd.operations import rolls, running
from rigd.server import Role

# name, optional labels with escaped values, one number.
SAMPLE = re.compile(r'^[a-z_:][a-z0-9_:]*(\{([a-z_]+="(\\\\|\\"|\\n|[^"\\\n])*",?)*\})? [-+]?[0-9.]+(e[-+]?\d+)?$')


@pytest.fixture
async def home(tmp_path: Path) -> AsyncIterator[House]:
    async with house(tmp_path) as built:
        yield built


async def figures(home: House) -> dict[str, str]:
    async with home.browser(Role.VIEWER) as monitor:
        reply = await monitor.get("/metrics")
    assert reply.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    assert reply.text.endswith("\n")
    lines = reply.text.splitlines()
    assert all(line.startswith(("# HELP ", "# TYPE ")) or SAMPLE.match(line) for line in lines), lines
    return dict(line.rsplit(" ", 1) for line in lines if not line.startswith("#"))


async def test_an_empty_job_has_figures_and_nothing_unknown_is_told(home: House) -> None:
    found = await figures(home)
    assert found["rigd_events_total"] == "0"
    assert (found["rigd_camera_up"], found["rigd_ledger_up"], found["rigd_idle"]) == ("0", "1", "1")
    assert "rigd_battery_ratio" not in found
    assert not any(name.startswith("rigd_roll") for name in found)


async def test_the_roll_in_hand_is_counted_under_its_label(home: House) -> None:
    await rolls.open_job(home.desk, title="survey")
    label = 'quay "3" \\ north'
    roll = await rolls.plan_roll(home.desk, label=label, film_format_name="120-6x6", expected=(12, 12))
    await rolls.open_roll(home.desk, roll_id=roll.roll_id)
    await running.skip(home.desk, source="page")
    home.desk.hub.notice(replace(home.desk.hub.vitals, battery_pct=62, free_bytes=5_000_000_000))
    found = await figures(home)
    named = 'roll="quay \\"3\\" \\\\ north"'
    assert found[f'rigd_roll_frames{{{named},kind="skipped"}}'] == "1"
    assert found[f'rigd_roll_frames{{{named},kind="missing"}}'] == "12"
    assert found[f"rigd_roll_frames_expected{{{named}}}"] == "12"
    assert (found["rigd_battery_ratio"], found["rigd_disk_free_bytes"]) == ("0.62", "5000000000")


async def test_card_board_and_lamp_are_told_and_an_absent_board_says_so(home: House) -> None:
    hub = home.desk.hub
    found = await figures(home)
    assert found["rigd_board_wanted"] == "0"
    assert not any(name.startswith(("rigd_board_up", "rigd_lamp", "rigd_card")) for name in found), "not known"
    heard = datetime(2031, 3, 4, tzinfo=UTC)
    hub.notice(replace(
        hub.vitals, card_free_bytes=32_000_000_000, card_frames_left=640, board="/dev/ttyACM0", board_ok=True,
        board_heard=heard, board_film=True, board_stopped=False, lamp_level=0.8, lamp_colour="white",
        lamp_warm_in_s=41.0,
    ))  # fmt: skip
    found = await figures(home)
    assert (found["rigd_card_free_bytes"], found["rigd_card_free_frames"]) == ("32000000000", "640")
    assert (found["rigd_board_wanted"], found["rigd_board_up"], found["rigd_board_film"]) == ("1", "1", "1")
    assert float(found["rigd_board_heard_seconds"]) == heard.timestamp()
    assert (found["rigd_board_stopped"], found["rigd_lamp_level_ratio"], found["rigd_lamp_warm"]) == ("0", "0.8", "0")
    async with home.browser(Role.VIEWER) as page:
        told = (await page.get("/api/state")).json()["vitals"]
    assert (told["card_frames_left"], told["lamp_warm_in_s"], told["board_stopped"]) == (640, 41.0, False)


async def test_strangers_get_no_figures(home: House) -> None:
    async with home.browser(role=None) as stranger:
        assert (await stranger.get("/metrics")).status_code == 401
        assert (await stranger.get("/healthz")).json() == {"ok": True}
