"""Pure parts of the page, run in the browser they run in: numbers in words, the situation, the live histogram."""

from __future__ import annotations

import math
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.unit.server.serving import served

if TYPE_CHECKING:
    from playwright.async_api import Page
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


@pytest.fixture
async def page(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Page]:
    eyes.expected.append("401")
    async with served(tmp_path) as running:
        opened = await eyes.open(running.url)
        yield opened
        await eyes.close_pages()


async def call(page: Page, module: str, name: str, *args: Any) -> Any:
    return await page.evaluate(
        "async ([module, name, args]) => (await import(module))[name](...args)", [module, name, list(args)]
    )


async def test_shutter_times_read_as_on_a_dial(page: Page) -> None:
    # Nominal thirds-of-a-stop series as printed on dials: common practice, no source.
    words = [await call(page, "/state/words.js", "shutterWords", s) for s in (1 / 125, 0.0333, 1 / 8000, 0.5, 0.3, 2.0)]
    assert words == ["1/125 s", "1/30 s", "1/8000 s", "0.5 s", "0.3 s", "2 s"]


async def test_changes_read_in_thirds_of_a_stop(page: Page) -> None:
    # A stop is a factor of two; nominal times are off it a little (1/15 to 1/8 is 1.875), so thirds are rounded to.
    cases = [(1 / 15, 1 / 8), (1 / 15, 1 / 15), (1 / 15, 1 / 20), (1 / 60, 1 / 15), (0.1, 0.1 * 2 ** (5 / 3))]
    words = [await call(page, "/state/words.js", "changeWords", a, b) for a, b in cases]
    assert words == ["1 stop longer", "unchanged", "⅓ stop shorter", "2 stops longer", "1⅔ stops longer"]


async def test_the_live_histogram_puts_values_where_srgb_says(page: Page) -> None:
    # IEC 61966-2-1: sRGB 128/255 is linear 0.2158, -2.212 stops; 255 is 1.0, 0 stops (computed from its formula).
    pixels = [128, 255, 0, 255] * 50
    found = await page.evaluate(
        "async (p) => (await import('/levels/measure.js')).measure(new Uint8ClampedArray(p))", pixels
    )
    red, green, blue = found["channels"]
    assert [round(sum(c), 6) for c in found["channels"]] == [1.0, 1.0, 1.0]
    middle = math.floor((-2.212 - found["from"]) / found["step"])
    assert sum(red[middle - 1 : middle + 2]) > 0.99
    assert green[71] == 1.0
    assert blue[0] > 0.0
    assert sum(blue[:12]) == pytest.approx(1.0), "black lies at the dark end, not in the middle"


async def test_an_even_ramp_leaves_no_comb_in_the_histogram(page: Page) -> None:
    """Every 8-bit value once: between the darkest tenth and white no bin may be empty."""
    pixels = [n for v in range(256) for n in (v, v, v, 255)]
    found = await page.evaluate(
        "async (p) => (await import('/levels/measure.js')).measure(new Uint8ClampedArray(p))", pixels
    )
    assert min(found["channels"][0][18:]) > 0.0


async def test_text_goes_in_as_text(page: Page) -> None:
    nasty = '<img src=x onerror="window.broken = true"> & "quotes" \'too\''
    got = await page.evaluate(
        """async (text) => {
          const { html } = await import("/base/html.js");
          const clicks = [];
          const click = () => clicks.push(1);
          const list = [1, " ", null, html`<b>${text}</b>`];
          const made = html`<p class=${text} title="fixed" hidden=${false} data-x=${true} on-click=${click}>
            ${text}${list}</p>`;
          const p = made.firstElementChild;
          p.click();
          return [
            p.textContent.trim(), p.className, p.title, p.hasAttribute("hidden"), p.getAttribute("data-x"),
            p.querySelectorAll("img").length, clicks.length, p.getAttributeNames(),
          ];
        }""",
        nasty,
    )
    assert got == [f"{nasty}1 {nasty}", nasty, "fixed", False, "", 0, 1, ["title", "class", "data-x"]]
    assert await page.evaluate("window.broken") is None




async def test_every_mood_has_a_shape_and_a_word_of_its_own(page: Page) -> None:
    """Colour never alone: seven moods, seven different drawings."""
    shapes = await page.evaluate(
        """async () => {
          const { gate } = await import("/base/gate.js");
          return ["ready", "still", "wait", "move", "call", "rest", "away"].map((mood) => gate(mood).innerHTML);
        }"""
    )
    assert len(set(shapes)) == 7
    assert all("path" in shape or "full" in shape for shape in shapes)
