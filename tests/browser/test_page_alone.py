"""The page on a real server and ledger without a camera: coming in, forms, keyboard alone, size, accessibility."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import Page, expect
from tests.browser.conftest import PHONE, WIDE, screen
from tests.browser.rooms import go, link, with_a_roll
from tests.unit.server.serving import Served, served

from rigd.model.words import Emulsion
from rigd.operations import rolls, running

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser
HERE_NOW = """(() => {
  const at = document.activeElement;
  return [at.innerText, at.tagName, getComputedStyle(at).outlineStyle];
})()"""

# Targets under 48 px: the sizes are those of what is pressed, so of the label where a box stands in one.
SMALL = """() => [...document.querySelectorAll("button, input, select, a")].filter((e) => e.checkVisibility())
  .map((e) => e.matches("[type=radio], [type=checkbox]") ? e.closest("label") : e)
  .map((e) => [e.innerText, e.getBoundingClientRect()]).filter(([, r]) => r.width < 47.9 || r.height < 47.9)
  .map(([text, r]) => `${text} ${r.width}x${r.height}`)"""


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        yield found
        await eyes.close_pages()


async def test_the_link_lets_in_once_and_is_wiped_from_the_address(eyes: Eyes, house: Served) -> None:
    printed = link(house)
    page = await eyes.open(printed)
    await expect(page.locator("rigd-band .word")).to_have_text("Begin")
    assert page.url == f"{house.url}/"
    await page.reload()
    await expect(page.locator("rigd-band .word")).to_have_text("Begin")
    (cookie,) = await page.context.cookies()
    assert (cookie["httpOnly"], cookie["sameSite"], cookie["path"]) == (True, "Strict", "/")
    assert await page.evaluate("document.cookie") == ""
    eyes.expected += ["401", "403"]
    stranger = await eyes.open(printed)
    await expect(stranger.locator("rigd-band .word")).to_have_text("Locked")
    assert stranger.url == f"{house.url}/"
    await screen(stranger, "wide-locked")


async def test_a_job_and_a_roll_and_a_strip_by_keyboard_alone(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house))
    await expect(page.locator("rigd-band .word")).to_have_text("Begin")
    keys = page.keyboard
    await tab_to(page, "Begin")
    await keys.press("Enter")
    await page.get_by_label("What is being digitised, and for whom").focus()
    await keys.type("Port of Vessling: survey negatives")
    await keys.press("Enter")
    await expect(page.get_by_role("heading", name="Port of Vessling: survey negatives")).to_be_visible()
    await tab_to(page, "New roll")
    await keys.press("Space")
    await expect(page.get_by_label("Name, as written on its sleeve or box")).to_be_focused()
    await keys.type("HO 1957-031")
    await keys.press("Tab")
    await keys.type("120-6x6")
    await page.get_by_label("Frames to a strip").focus()
    await keys.type("4")
    await screen(page, "wide-rolls-plan")
    await keys.press("Enter")
    await expect(page.locator("rigd-rolls .current")).to_contain_text("HO 1957-031, in hand")
    roll = house.house.desk.state.roll
    assert roll is not None
    assert (roll.roll.film_format, roll.roll.strip_places, roll.roll.expected) == ("120-6x6", 4, None)
    await tab_to(page, "Run")
    await keys.press("Enter")
    await expect(page.locator("rigd-roll .label")).to_have_text("HO 1957-031")
    await tab_to(page, "New strip")
    await keys.press("Space")
    await expect(page.get_by_label("Places on it")).to_be_focused()
    await page.get_by_label("up, towards the lens").focus()
    await keys.press("Space")
    await keys.press("Enter")
    await expect(page.get_by_label("Places on it")).to_have_count(0)
    await expect(page.locator("rigd-band .line")).to_have_text("Press when strip 1, place 1 lies in the gate.")
    strip = house.house.desk.state.strip
    assert strip is not None
    assert (strip.places, strip.emulsion, strip.turn) == (4, Emulsion.UP, 0)


async def tab_to(page: Page, name: str) -> None:
    """Press Tab until the button of that name has the focus; every stop on the way shows where it is."""
    for _ in range(40):
        await page.keyboard.press("Tab")
        text, tag, outline = await page.evaluate(HERE_NOW)
        assert outline != "none" or tag == "BODY", f"no mark of the focus on {text!r}"
        if text.strip() == name:
            return
    pytest.fail(f"Tab never came to {name}")


async def test_what_is_refused_is_shown_with_its_remedy(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house))
    eyes.expected.append("409")
    await expect(page.locator(".press")).to_contain_text("strip 1, place 4")
    await page.keyboard.press("Space")
    refusal = page.locator("rigd-trouble .refusal")
    await expect(refusal).to_contain_text("No camera is in use here.")
    await expect(refusal).to_contain_text("Start: rigd run.")
    assert await page.locator("rigd-trouble").get_attribute("role") == "alert"
    await page.get_by_role("button", name="Understood").click()
    await expect(refusal).to_have_count(0)


async def test_the_sleeve_tells_every_state_and_marks_can_be_taken_back(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house))
    cells = page.locator("rigd-sleeve .cell")
    names = [await cells.nth(i).get_attribute("aria-label") for i in range(3)]
    assert names == ["Strip 1, place 1: passed over", "Strip 1, place 2: unexposed", "Strip 1, place 3: fogged"]
    await cells.nth(1).click()
    await expect(page.locator("rigd-hand .whose")).to_have_text("Strip 1, place 2, chosen")
    unexposed = page.get_by_role("button", name="Unexposed", exact=True)
    await expect(unexposed).to_have_attribute("aria-pressed", "true")
    await unexposed.click()
    await expect(cells.nth(1)).to_have_attribute("aria-label", "Strip 1, place 2: passed over")
    await unexposed.click()
    await expect(cells.nth(1)).to_have_attribute("aria-label", "Strip 1, place 2: unexposed")
    await page.get_by_role("button", name="Undo").click()
    await expect(cells.nth(1)).to_have_attribute("aria-label", "Strip 1, place 2: passed over")
    await expect(page.get_by_role("button", name="Undo")).to_be_disabled()
    await page.get_by_role("button", name="Pass over strip 1, place 4").click()
    await expect(page.locator("rigd-band .line")).to_have_text("That strip is through. Lay in strip 2, then press.")


async def test_back_goes_to_the_frame_before_and_passing_it_over_returns(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house))
    press = page.locator(".press")
    await expect(press).to_contain_text("strip 1, place 4")
    await page.get_by_role("button", name="Back").click()
    await expect(press).to_contain_text("strip 1, place 3")
    await page.get_by_role("button", name="Back").click()
    await expect(press).to_contain_text("strip 1, place 2")
    await page.get_by_role("button", name="Pass over strip 1, place 2").click()
    await expect(press).to_contain_text("strip 1, place 4")


async def test_names_are_shown_as_they_were_typed(eyes: Eyes, house: Served) -> None:
    nasty = "<img src=x onerror=alert(1)> & <b>quay</b>"
    await rolls.open_job(house.house.desk, title=nasty)
    roll = await rolls.plan_roll(house.house.desk, label=nasty, film_format_name="135")
    await rolls.open_roll(house.house.desk, roll_id=roll.roll_id)
    page = await eyes.open(link(house))
    await expect(page.locator("rigd-roll .label")).to_have_text(nasty)
    await expect(page.locator("rigd-roll h3").first).to_have_text(nasty)
    for view in ("Rolls", "Handover", "Bench"):
        await go(page, view)
        assert await page.locator("img, main b").count() == 0
    await go(page, "Rolls")
    await expect(page.locator("rigd-rolls .current p").first).to_contain_text(nasty)
    await page.get_by_role("button", name=f"Look at {nasty}").click()
    await expect(page.locator("rigd-rolls .one h2")).to_have_text(nasty)


async def test_the_longest_names_stay_on_the_page(eyes: Eyes, house: Served) -> None:
    long, wide = "Port-of-Vessling-" * 7, "W" * 60
    await rolls.open_job(house.house.desk, title=long[:119])
    roll = await rolls.plan_roll(house.house.desk, label=wide, film_format_name="120-6x17", where=long[:119])
    await rolls.open_roll(house.house.desk, roll_id=roll.roll_id)
    for size in (PHONE, WIDE):
        page = await eyes.open(link(house), size)
        for view in ("Run", "Rolls", "Handover", "Bench"):
            await go(page, view)
            assert await page.evaluate("document.documentElement.scrollWidth") <= size[0], view
        await go(page, "Run")
        await expect(page.locator("rigd-roll .label")).to_have_text(wide)
        await screen(page, f"{'phone' if size == PHONE else 'wide'}-long-names")


@pytest.mark.parametrize("size", [(320, 640), PHONE, (768, 1024), WIDE, (2560, 1440)])
async def test_nothing_is_too_small_or_runs_over_the_edge(eyes: Eyes, house: Served, size: tuple[int, int]) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house), size)
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    await page.locator("rigd-sleeve .cell").first.click()
    small = await page.evaluate(SMALL)
    assert small == []
    assert await page.evaluate("document.documentElement.scrollWidth") <= size[0]
    for view in ("Bench", "Rolls", "Handover"):
        await go(page, view)
        assert await page.evaluate(SMALL) == [], view
        assert await page.evaluate("document.documentElement.scrollWidth") <= size[0], view
    # Readable at 1.5 m: the state in letters of 36 CSS px or more, at 96 px an inch about 9.5 mm (our own bound).
    assert await page.evaluate("parseFloat(getComputedStyle(document.querySelector('rigd-band .word')).fontSize)") >= 36


async def test_motion_stops_where_it_is_not_wanted(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house))
    await page.emulate_media(reduced_motion="reduce")
    await page.evaluate("document.querySelector('rigd-band').dataset.mood = 'still'")
    assert await page.evaluate(
        "[...document.querySelectorAll('*')].every((e) => getComputedStyle(e).animationName === 'none')"
    )


async def test_whether_keys_are_heard_is_said(eyes: Eyes, house: Served) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house))
    hint = page.locator("rigd-trigger .keys")
    await expect(hint).to_have_text("Space or Enter")
    await page.locator("rigd-sleeve .cell").first.focus()
    await expect(hint).to_contain_text("not heard")
    await page.locator("rigd-sleeve .cell").first.click()
    await expect(hint).to_have_text("Space or Enter")


async def test_a_full_roll_of_small_pictures_fits_too(eyes: Eyes, house: Served) -> None:
    """Half frame, 72 on the roll in strips of twelve: the longest list there is."""
    desk = house.house.desk
    await rolls.open_job(desk, title="Port of Vessling, harbour office: survey negatives")
    roll = await rolls.plan_roll(
        desk, label="HO 1963-114", film_format_name="135-half", expected=(72, 75), strip_places=12
    )
    await rolls.open_roll(desk, roll_id=roll.roll_id)
    for _ in range(40):
        await running.skip(desk, source="page")
    page = await eyes.open(link(house), (1024, 768))
    await expect(page.locator("rigd-sleeve button.cell")).to_have_count(40)
    await page.locator("rigd-sleeve button.cell").last.scroll_into_view_if_needed()
    await expect(page.locator(".press")).to_be_in_viewport(ratio=1)
    await expect(page.locator("rigd-band .word")).to_be_in_viewport(ratio=1)
    await screen(page, "middle-long-roll")
