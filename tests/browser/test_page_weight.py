"""What the page costs and whom it asks: weight, first paint, third parties, the policy it keeps. Bounds are our own."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from playwright.async_api import Page, Request, expect
from tests.browser.conftest import PHONE
from tests.browser.rooms import go, link, with_a_roll
from tests.unit.server.serving import Served, served

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser
WEIGHT = 200_000
FIRST_PAINT_MS = 1000


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        await with_a_roll(found)
        yield found
        await eyes.close_pages()


async def test_it_is_light_quick_and_asks_nobody_else(eyes: Eyes, house: Served) -> None:
    asked: list[Request] = []
    context = await eyes.context(PHONE)
    context.on("request", lambda request: asked.append(request))
    page = await eyes.open_in(context, link(house))
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    for view in ("Bench", "Rolls", "Handover", "Run"):
        await go(page, view)
    weight = 0
    for request in asked:
        if "/api/takes/" not in request.url:
            weight += (await request.sizes())["responseBodySize"]
    assert 20_000 < weight < WEIGHT
    assert {urlsplit(request.url).netloc for request in asked} == {urlsplit(house.url).netloc}
    assert min([await painted(page) for _ in range(5)]) < FIRST_PAINT_MS


async def painted(page: Page) -> float:
    """Milliseconds from a fresh start to the first paint. The quickest of some counts: the machine may be busy."""
    await page.reload()
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    found = await page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    return float(found)


async def test_its_policy_forbids_what_is_inline_and_it_needs_none(eyes: Eyes, house: Served) -> None:
    """CSP level 3: a page under `default-src 'self'` runs no inline script and takes no inline style."""
    page = await eyes.open(link(house), PHONE)
    answer = await page.request.get(house.url)
    assert "unsafe" not in answer.headers["content-security-policy"]
    text = await answer.text()
    assert "style=" not in text
    assert "<script>" not in text
    eyes.expected.append("Content Security Policy")
    await page.evaluate(
        """() => { const made = document.createElement("script"); made.textContent = "window.harm = 1";
        document.body.append(made);
        document.body.insertAdjacentHTML("beforeend", "<img src=x onerror='window.harm = 2'>"); }"""
    )
    eyes.expected.append("404")
    assert await page.evaluate("window.harm") is None
