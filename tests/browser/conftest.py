"""Real Chromium for the page's tests. What the page writes to its console as an error fails the test."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path

import axe_playwright_python
import cv2
import numpy as np
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

    async def open(
        self, link: str, size: tuple[int, int] = WIDE, script: str | None = None, touch: bool | None = None
    ) -> Page:
        """A page in a profile of its own. `script` runs before the page's own scripts."""
        context = await self.context(size, touch)
        if script:
            await context.add_init_script(script)
        return await self.open_in(context, link)

    async def context(self, size: tuple[int, int], touch: bool | None = None) -> BrowserContext:
        width, height = size
        touched = width < 600 if touch is None else touch
        return await self.browser.new_context(
            viewport={"width": width, "height": height}, has_touch=touched, is_mobile=touched and width < 600
        )

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


async def luminance(page: Page) -> float:
    """Mean relative luminance of what is to be seen of the page, as a share of white (IEC 61966-2-1, Rec. 709)."""
    encoded = cv2.imdecode(np.frombuffer(await page.screenshot(), np.uint8), cv2.IMREAD_COLOR)
    assert encoded is not None
    share = encoded[:, :, ::-1].astype(np.float64) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return float((linear @ np.array([0.2126, 0.7152, 0.0722])).mean())


async def screen(page: Page, name: str) -> None:
    """Keep a picture of the page for somebody to look at."""
    SCREENS.mkdir(parents=True, exist_ok=True)
    await page.screenshot(path=SCREENS / f"{name}.png")
