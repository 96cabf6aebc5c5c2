"""Light is an enemy, and colour is never all: luminance, looks, zoom, contrast, in every view.

Sources: WCAG 2.2 (AA; 1.4.4 resize text, 1.4.10 reflow) by axe-core; the bound of 2 % of white is the project's own.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import Page, expect
from tests.browser.conftest import PHONE, WIDE, luminance, screen, violations
from tests.browser.rooms import go, link, with_a_roll
from tests.unit.server.serving import Served, served

from rigd.model.events import Troubled

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser
VIEWS = ("Run", "Bench", "Rolls", "Handover")
MOST = 0.02


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        await with_a_roll(found)
        yield found
        await eyes.close_pages()


async def office(page: Page) -> None:
    await go(page, "Bench")
    await page.get_by_label("office").check()


@pytest.mark.parametrize("look", ["dark", "light"])
@pytest.mark.parametrize("size", [PHONE, WIDE])
async def test_every_view_in_every_look(eyes: Eyes, house: Served, size: tuple[int, int], look: str) -> None:
    page = await eyes.open(link(house), size)
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    if look == "light":
        await office(page)
    await house.house.desk.hub.append(Troubled("camera-lost", "The camera went away.", "It was unplugged.", "Plug it."))
    for view in VIEWS:
        await go(page, view)
        if view == "Bench":
            await page.get_by_role("button", name="Show its code").click()
            await expect(page.locator(".offer")).to_be_visible()
        if view == "Rolls":
            await page.get_by_role("button", name="New roll").click()
            await expect(page.get_by_label("Name, as written on its sleeve or box")).to_be_visible()
            assert await violations(page) == [], "the form"
            await page.get_by_role("button", name="Look at HO 1957-031").click()
            await page.locator(".one .contact button").first.click()
        assert await violations(page) == [], view
        name = f"{'phone' if size == PHONE else 'wide'}-{view.lower()}-{look}"
        await screen(page, name)
        if look == "dark":
            assert await luminance(page) < MOST, view


async def test_without_a_session_it_is_no_brighter(eyes: Eyes, house: Served) -> None:
    eyes.expected.append("401")
    page = await eyes.open(house.url, PHONE)
    await expect(page.get_by_label("Eight letters")).to_be_visible()
    assert await violations(page) == []
    assert await luminance(page) < MOST


async def test_the_office_look_is_remembered_and_is_no_dark_room(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house), WIDE)
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    await office(page)
    await page.reload()
    await go(page, "Run")
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    assert await luminance(page) > 0.5


async def test_a_bright_picture_is_dimmed_to_the_same_mean_as_a_grey_one(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house), WIDE)
    dimmed = """async (value) => {
      const { shade } = await import("/base/shade.js");
      const canvas = document.createElement("canvas");
      Object.assign(canvas, { width: 300, height: 200 });
      const at = canvas.getContext("2d");
      at.fillStyle = `rgb(${value} ${value} ${value})`;
      at.fillRect(0, 0, 300, 200);
      shade(canvas);
      const factor = Number(canvas.style.getPropertyValue("--shade"));
      const share = (factor * value) / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    }"""
    found = [await page.evaluate(dimmed, value) for value in (255, 180, 120, 60, 20)]
    assert max(found) < 0.03
    assert max(found[:3]) - min(found[:3]) < 0.012, "a bare lamp gives as little light as a grey sky"
    assert found[4] == pytest.approx(((20 / 255 + 0.055) / 1.055) ** 2.4, rel=0.01), "what is dark is left alone"


async def test_pictures_are_dimmed_shown_or_hidden_with_one_tap(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house), PHONE)
    steps = ["dimmed", "at full light", "hidden", "dimmed"]
    for words, after in itertools.pairwise(steps):
        button = page.locator("rigd-live button.quiet")
        await expect(button).to_have_attribute("aria-label", f"Pictures are {words}; show them {after}")
        await button.tap()
    await expect(button).to_have_attribute("aria-label", re.compile("dimmed;"))


@pytest.mark.parametrize("view", VIEWS)
async def test_at_200_per_cent_nothing_is_lost(eyes: Eyes, house: Served, view: str) -> None:
    """WCAG 1.4.4: a browser that zooms to 200 % halves the page's CSS pixels."""
    page = await eyes.open(link(house), (WIDE[0] // 2, WIDE[1] // 2))
    await go(page, view)
    assert await page.evaluate("document.documentElement.scrollWidth") <= WIDE[0] // 2
    hidden = await page.evaluate(
        """() => [...document.querySelectorAll("main button, main input, main a")].filter((e) => e.checkVisibility())
          .filter((e) => { e.scrollIntoView({ block: "center" }); const r = e.getBoundingClientRect();
            const at = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
            return !(at && (e.contains(at) || at.contains(e) || e.closest("label")?.contains(at))); })
          .map((e) => e.outerHTML.slice(0, 90))"""
    )
    assert hidden == []
    assert await violations(page) == []


async def test_moods_differ_without_colour(eyes: Eyes, house: Served) -> None:
    """Each mood has a shape of its own: drawn in one colour, no two pictures are alike."""
    page = await eyes.open(link(house), WIDE)
    shapes = await page.evaluate(
        """async () => {
          const { gate } = await import("/base/gate.js");
          const moods = ["ready", "armed", "right", "left", "still", "wait", "move", "call", "rest", "away"];
          return moods.map((mood) => gate(mood).innerHTML);
        }"""
    )
    assert len(set(shapes)) == len(shapes) == 10
