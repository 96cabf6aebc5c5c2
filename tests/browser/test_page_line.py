"""The live line: it comes back by itself, and after sleep or a tunnel the page shows the truth within a second."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect
from tests.browser.conftest import PHONE, screen
from tests.browser.rooms import TUNNEL, link, with_a_roll, word
from tests.unit.server.serving import Served, served

from rigd.operations import rolls, running
from rigd.server import Door, WebServer, listen

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        yield found
        await eyes.close_pages()


async def test_the_page_comes_back_by_itself_and_says_so(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house))
    await expect(page.locator("rigd-band .vitals")).to_contain_text("linked")
    eyes.expected += ["ERR_CONNECTION_REFUSED", "WebSocket connection"]
    house.server.stop()
    await word(page, "No link", 10)
    await expect(page.locator(".press")).to_be_disabled()
    await screen(page, "wide-no-link")
    again = WebServer(house.house.app, Door(listen("127.0.0.1", house.server.port)))
    serving = asyncio.create_task(again.run())
    await rolls.open_job(house.house.desk, title="while it was away")
    await expect(page.locator("rigd-band .vitals")).to_contain_text("linked", timeout=15_000)
    await expect(page.locator("rigd-roll h3").first).to_have_text("while it was away")
    await eyes.close_pages()
    again.stop()
    await serving



async def test_after_a_tunnel_it_shows_the_truth_within_a_second(eyes: Eyes, house: Served) -> None:
    """The line of before the tunnel stays open and dead; the page is woken, as a phone is from its sleep."""
    await with_a_roll(house)
    page = await eyes.open(link(house), PHONE, TUNNEL)
    await expect(page.locator(".press")).to_contain_text("place 4")
    await page.evaluate("window.tunnel = true")
    await running.skip(house.house.desk, source="pedal")
    await page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    await expect(page.locator(".press")).to_contain_text("place 4")
    await page.evaluate("window.tunnel = false")
    began = time.monotonic()
    await page.evaluate("window.dispatchEvent(new Event('pageshow'))")
    await expect(page.locator(".press")).to_contain_text("strip 2, place 1", timeout=5000)
    assert time.monotonic() - began < 1.0
    await expect(page.locator("rigd-band .vitals")).to_contain_text("linked")


async def test_a_dead_line_is_found_out_without_being_woken(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house), PHONE, TUNNEL)
    await expect(page.locator(".press")).to_contain_text("place 4")
    await page.evaluate("window.tunnel = true")
    await word(page, "No link", 15)
    await page.evaluate("window.tunnel = false")
    await expect(page.locator("rigd-band .vitals")).to_contain_text("linked", timeout=15_000)


async def test_a_daemon_that_restarts_is_followed_and_the_code_is_not_asked_again(eyes: Eyes, house: Served) -> None:
    """Another server with the same sessions, as a restarted daemon reads them from its file."""
    await with_a_roll(house)
    page = await eyes.open(link(house), PHONE)
    await word(page, "Ready")
    eyes.expected += ["ERR_CONNECTION_REFUSED", "WebSocket connection"]
    house.server.stop()
    await word(page, "No link", 10)
    again = WebServer(house.house.app, Door(listen("127.0.0.1", house.server.port)))
    serving = asyncio.create_task(again.run())
    await word(page, "Ready", 15)
    assert await page.get_by_label("Eight letters").count() == 0
    await eyes.close_pages()
    again.stop()
    await serving
