"""Real Chromium for the page's tests. What the page writes to its console as an error fails the test."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path

import axe_playwright_python
import pytest
from playwright.async_api import Browser, BrowserContext, ConsoleMessage, Page, async_playwright

HERE = Path(__file__).resolve()
AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js")
SCREENS = HERE.parents[2] / "build" / "screens"
# No network services of the browser's own, no sandbox (the tests may run as root), nothing drawn by a GPU.
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--autoplay-policy=user-gesture-required",
]  # fmt: skip
WIDE, PHONE = (1440, 900), (390, 844)


@dataclass
class Eyes:
    """A browser to open pages with. `errors` collects what their consoles said; `expected` are parts of lines that
    a test makes happen on purpose."""

    browser: Browser
    errors: list[str] = field(default_factory=list)
    expected: list[str] = field(default_factory=list)

    async def open(self, link: str, size: tuple[int, int] = WIDE, script: str | None = None) -> Page:
        """A page in a profile of its own. `script` runs before the page's own scripts."""
        context = await self.context(size)
        if script:
            await context.add_init_script(script)
        return await self.open_in(context, link)

    async def context(self, size: tuple[int, int]) -> BrowserContext:
        width, height = size
        return await self.browser.new_context(viewport={"width": width, "height": height}, has_touch=width < 600)

    async def open_in(self, context: BrowserContext, link: str) -> Page:
        page = await context.new_page()
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.errors.append(f"uncaught: {error}"))
        await page.goto(link)
        return page

    async def close_pages(self) -> None:
        """Before the server goes away: what a page says about that is no fault."""
        for context in self.browser.contexts:
            await context.close()

    def _said(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.errors.append(f"{message.type}: {message.text}")

    @property
    def unexpected(self) -> list[str]:
        return [line for line in self.errors if not any(part in line for part in self.expected)]


@pytest.fixture
async def eyes() -> AsyncIterator[Eyes]:
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("Chromium is not installed: apt-get install chromium")
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        found = Eyes(browser)
        yield found
        await browser.close()
    assert found.unexpected == []


async def violations(page: Page) -> list[str]:
    """What axe-core finds against WCAG 2.0 to 2.2, A and AA."""
    await page.evaluate(AXE.read_text("utf-8"))
    found = await page.evaluate("axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })")
    return [f"{v['id']}: {v['help']}: {v['nodes'][0]['html'][:120]}" for v in found["violations"]]


async def screen(page: Page, name: str) -> None:
    """Keep a picture of the page for somebody to look at."""
    SCREENS.mkdir(parents=True, exist_ok=True)
    await page.screenshot(path=SCREENS / f"{name}.png")
