"""The page on a real server and ledger without a camera: coming in, forms, keyboard alone, size, accessibility."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import Page, expect
from tests.browser.conftest import PHONE, WIDE, screen, violations
from tests.unit.server.serving import Served, served

from rigd.model.words import Emulsion, Film
from rigd.operations import rolls, running
from rigd.server import Door, Role, WebServer, listen

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser
HERE_NOW = """(() => {
  const at = document.activeElement;
  return [at.innerText, at.tagName, getComputedStyle(at).outlineStyle];
})()"""


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        yield found
        await eyes.close_pages()


def link(house: Served) -> str:
    return f"{house.url}/#{house.house.book.invite(Role.HOST)}"


async def with_a_roll(house: Served) -> None:
    """A roll of twelve with one strip of four: one left open, one unexposed, one passed over, one to come."""
    desk = house.house.desk
    await rolls.open_job(desk, title="Port of Vessling, harbour office: survey negatives")
    roll = await rolls.plan_roll(
        desk, label="HO 1957-031", film_format_name="120-6x6", expected=(12, 12), strip_places=4, where="cabinet 4"
    )
    await rolls.open_roll(desk, roll_id=roll.roll_id)
    await rolls.load_strip(desk, places=4, emulsion=Emulsion.DOWN, turn=0)
    for _ in range(3):
        await running.skip(desk, source="page")
    await rolls.mark(desk, frame_id="f-00002", film=Film.UNEXPOSED, by="page")
    await rolls.mark(desk, frame_id="f-00003", film=Film.FOGGED, by="page")


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
    await expect(page.get_by_label("What is being digitised, and for whom")).to_be_visible()
    await page.get_by_label("What is being digitised, and for whom").focus()
    await keys.type("Port of Vessling: survey negatives")
    await keys.press("Enter")
    label = page.get_by_label("Name, as written on its sleeve or box")
    await expect(label).to_be_visible()
    await label.focus()
    await keys.type("HO 1957-031")
    await keys.press("Tab")
    await keys.type("120-6x6")
    await page.get_by_label("Frames to a strip").focus()
    await keys.type("4")
    await screen(page, "wide-form-roll")
    await keys.press("Enter")
    await expect(page.locator("rigd-roll .label")).to_have_text("HO 1957-031")
    roll = house.house.desk.state.roll
    assert roll is not None
    assert (roll.roll.film_format, roll.roll.strip_places, roll.roll.expected) == ("120-6x6", 4, None)
    await tab_to(page, "New strip")
    await keys.press("Space")
    await expect(page.get_by_role("dialog")).to_be_visible()
    await page.get_by_label("up, towards the lens").focus()
    await keys.press("Space")
    await screen(page, "wide-form-strip")
    await keys.press("Enter")
    await expect(page.get_by_role("dialog")).to_be_hidden()
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
    await page.get_by_role("button", name="Not unexposed").click()
    await expect(cells.nth(1)).to_have_attribute("aria-label", "Strip 1, place 2: passed over")
    await page.get_by_role("button", name="Unexposed", exact=True).click()
    await expect(cells.nth(1)).to_have_attribute("aria-label", "Strip 1, place 2: unexposed")
    await page.get_by_role("button", name="Pass over place 4").click()
    await expect(page.locator("rigd-band .line")).to_have_text("That strip is through. Lay in strip 2, then press.")


async def test_names_are_shown_as_they_were_typed(eyes: Eyes, house: Served) -> None:
    nasty = "<img src=x onerror=alert(1)> & <b>quay</b>"
    await rolls.open_job(house.house.desk, title=nasty)
    roll = await rolls.plan_roll(house.house.desk, label=nasty, film_format_name="135")
    await rolls.open_roll(house.house.desk, roll_id=roll.roll_id)
    page = await eyes.open(link(house))
    await expect(page.locator("rigd-roll .label")).to_have_text(nasty)
    await expect(page.locator("rigd-roll h2")).to_have_text(nasty)
    assert await page.locator("rigd-roll img").count() == 0


async def test_the_page_comes_back_by_itself_and_says_so(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house))
    await expect(page.locator("rigd-band .vitals")).to_contain_text("linked")
    eyes.expected += ["ERR_CONNECTION_REFUSED", "WebSocket connection"]
    house.server.stop()
    await expect(page.locator("rigd-band .word")).to_have_text("No link", timeout=10_000)
    await expect(page.locator(".press")).to_be_disabled()
    await screen(page, "wide-no-link")
    again = WebServer(house.house.app, Door(listen("127.0.0.1", house.server.port)))
    serving = asyncio.create_task(again.run())
    await rolls.open_job(house.house.desk, title="while it was away")
    await expect(page.locator("rigd-band .vitals")).to_contain_text("linked", timeout=15_000)
    await expect(page.locator("rigd-roll h2")).to_have_text("while it was away")
    await eyes.close_pages()
    again.stop()
    await serving


@pytest.mark.parametrize("size", [(320, 640), PHONE, (768, 1024), WIDE, (2560, 1440)])
async def test_nothing_is_too_small_or_runs_over_the_edge(eyes: Eyes, house: Served, size: tuple[int, int]) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house), size)
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    await page.locator("rigd-sleeve .cell").first.click()
    small = await page.evaluate(
        """() => [...document.querySelectorAll("button, input, select")].filter((e) => e.checkVisibility())
          .map((e) => [e.innerText, e.getBoundingClientRect()]).filter(([, r]) => r.width < 47.9 || r.height < 47.9)
          .map(([text, r]) => `${text} ${r.width}x${r.height}`)"""
    )
    assert small == []
    assert await page.evaluate("document.documentElement.scrollWidth") <= size[0]
    # Readable at 1.5 m: the state in letters of 36 CSS px or more, at 96 px an inch about 9.5 mm (our own bound).
    assert await page.evaluate("parseFloat(getComputedStyle(document.querySelector('rigd-band .word')).fontSize)") >= 36


@pytest.mark.parametrize("size", [PHONE, WIDE])
async def test_wcag_22_aa_as_far_as_a_program_can_tell(eyes: Eyes, house: Served, size: tuple[int, int]) -> None:
    await with_a_roll(house)
    page = await eyes.open(link(house), size)
    await expect(page.locator("rigd-sleeve .cell").first).to_be_visible()
    assert await violations(page) == []
    await page.get_by_role("button", name="Rolls").click()
    await expect(page.get_by_role("dialog")).to_be_visible()
    assert await violations(page) == []


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
