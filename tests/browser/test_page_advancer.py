"""What the page shows of a motor that moves film: the stop in every view, lifting it, and what the pedal offers."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace
from playwright.async_api import expect
from tests.browser.conftest import violations
from tests.browser.rooms import go, link, with_a_roll
from tests.unit.server.serving import Served, served

from rigd.model.events_feed import FilmStopped, StopCleared

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as running:
        yield running
        await eyes.close_pages()


@pytest.mark.parametrize("size", [(390, 844), (1440, 900)])
async def test_film_that_a_motor_moves_can_be_stopped_from_every_view(
    eyes: Eyes, house: Served, size: tuple[int, int]
) -> None:
    await with_a_roll(house)
    hub = house.house.desk.hub
    page = await eyes.open(link(house), size)
    halt = page.locator("rigd-halt")
    await expect(halt).to_be_empty()
    hub.notice(replace(hub.vitals, board="/dev/serial/by-id/usb-board", board_ok=True, offered="unexposed"))
    await expect(halt.get_by_text("Pedal: unexposed?")).to_be_visible()
    hub.notice(replace(hub.vitals, offered=""))
    for view in ("Bench", "Rolls", "Handover"):
        await go(page, view)
        await expect(halt.get_by_role("button", name="Stop the film")).to_be_in_viewport()
    await go(page, "Run")
    await expect(page.locator("rigd-hand").get_by_role("button", name="Stop", exact=True)).to_be_in_viewport()
    await expect(halt).to_be_hidden()
    await hub.append(FilmStopped("board pedal 1"))
    await expect(halt.get_by_role("alert")).to_contain_text("The film is stopped (board pedal 1).")
    await expect(halt.get_by_role("button", name="Lift the stop")).to_be_in_viewport()
    assert await violations(page) == []
    await hub.append(StopCleared("page"))
    await expect(halt).to_be_hidden()


async def test_card_lamp_and_advancer_are_told_also_where_there_are_none(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    hub = house.house.desk.hub
    page = await eyes.open(link(house))
    rig = page.locator("rigd-gauges dl")
    none = ("Cardnot told by the camera", "Lampno lamp control, not measured", "Advancernone, film moved by hand")
    for words in none:
        await expect(rig).to_contain_text(words)
    hub.notice(
        replace(hub.vitals, board="/dev/serial/by-id/usb-board", board_ok=True, board_film=True, lamp_level=0.8,
                lamp_colour="white", lamp_warm_in_s=12.0, card_free_bytes=64_000_000_000, card_frames_left=31)
    )  # fmt: skip
    for words in ("Card64 GB free, 31 frames", "Lampwhite 80 % warm in 12 s", "Advancerthere, film in it"):
        await expect(rig).to_contain_text(words)
    await expect(rig.locator(".bad dt")).to_contain_text(["Card"])
    hub.notice(replace(hub.vitals, board_ok=False))
    await expect(rig).to_contain_text("Advancerdoes not answer")
