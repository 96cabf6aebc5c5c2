"""The Rolls view: contact sheet, filters, a frame at 100 %, the list to go back to, planning, paging; by keyboard."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from io import BytesIO
from pathlib import Path
from statistics import pstdev
from typing import TYPE_CHECKING

import pypdf
import pytest
from playwright.async_api import Page, expect
from tests.browser.conftest import PHONE, WIDE, screen, violations
from tests.browser.rolls_room import digitised, many
from tests.browser.rooms import go, link
from tests.unit.server.serving import Served, served

from rigd.app.desks import open_desk
from rigd.config import Settings
from rigd.model.metadata import AboutChanges
from rigd.model.plan import RollChanges
from rigd.model.words import BaseType, Film
from rigd.operations import flagging, plans, rolls
from rigd.operations.finding_jobs import remember

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


@pytest.fixture
async def house(tmp_path: Path, eyes: Eyes) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        await digitised(found.house.desk)
        yield found
        await eyes.close_pages()


async def looking(eyes: Eyes, house: Served, size: tuple[int, int] = WIDE) -> Page:
    """The Rolls view with the digitised roll open and its pictures there."""
    page = await eyes.open(link(house), size)
    await go(page, "Rolls")
    await page.get_by_role("button", name="Look at HO 1957-031").click()
    await expect(page.locator(".contact .shot canvas[width]")).to_have_count(4, timeout=30_000)  # they were drawn
    return page


async def said(page: Page) -> list[str]:
    """What stands below each place of the contact sheet."""
    return [" ".join(text.split()) for text in await page.locator(".contact .shot").all_inner_texts()]


@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["wide", "phone"])
async def test_the_contact_sheet_by_strip_at_both_widths(eyes: Eyes, house: Served, size: tuple[int, int]) -> None:
    page = await looking(eyes, house, size)
    assert await said(page) == ["1", "2 doubtful", "3 3 passed over", "4 unexposed", "5", "2 missing"]
    await expect(page.locator(".contact h3")).to_have_text(["Strip 1", "Strip 2"])
    # What is drawn is the picture: neither black nor one grey.
    green = await page.locator(".shot canvas").first.evaluate(
        "(c) => Array.from(c.getContext('2d').getImageData(0, 0, c.width, c.height).data).filter((_, i) => i % 4 === 1)"
    )
    assert pstdev(green) > 20
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    await screen(page, f"{'wide' if size == WIDE else 'phone'}-rolls-contact")
    assert await violations(page) == []


async def test_frames_are_filtered_by_what_is_said_of_them(eyes: Eyes, house: Served) -> None:
    page = await looking(eyes, house)
    filters = page.get_by_role("group", name="Frames to show")
    await expect(filters.get_by_role("button")).to_have_text(["all 6", "doubtful 1", "unexposed 1", "missing 2"])
    await filters.get_by_role("button", name="missing 2").click()
    assert await said(page) == ["3 3 passed over", "2 missing"]
    await filters.get_by_role("button", name="unexposed 1").click()
    assert await said(page) == ["4 unexposed"]


async def test_one_frame_at_full_size(eyes: Eyes, house: Served) -> None:
    page = await looking(eyes, house)
    await page.get_by_role("button", name="Frame 2, strip 1, place 2: doubtful").click()
    await expect(page.get_by_role("heading", name="Frame 2: picture")).to_be_in_viewport()
    await page.get_by_role("button", name="Pixel by pixel").click()
    box = page.get_by_role("region", name="pixel by pixel")
    await expect(box.locator("img").first).to_be_attached()
    natural, shown = await box.evaluate(
        "(b) => Promise.any([...b.querySelectorAll('img')].map((i) => i.decode().then(() => [i.naturalWidth,"
        " i.offsetWidth * devicePixelRatio])))"
    )
    assert natural == pytest.approx(shown, abs=1)
    before = await box.evaluate("(b) => b.scrollLeft")
    assert before > 0  # it begins in the middle of the picture
    await box.focus()
    await box.evaluate("(b) => { b.moved = new Promise((r) => b.addEventListener('scroll', () => r(b.scrollLeft))); }")
    await page.keyboard.press("ArrowRight")
    assert await box.evaluate("(b) => b.moved") > before
    await screen(page, "wide-rolls-full")
    assert await violations(page) == []


async def test_doubtful_ones_are_accepted_or_put_on_the_list_and_the_rig_is_led_to_them(
    eyes: Eyes, house: Served
) -> None:
    desk = house.house.desk
    page = await looking(eyes, house)
    await page.get_by_role("button", name="Frame 1, strip 1, place 1").click()
    await page.get_by_label("Take it again, because").fill("a hair on it")
    await page.get_by_role("button", name="Onto the list").click()
    await expect(page.get_by_text("To be taken again: a hair on it")).to_be_visible()
    assert desk.state.rolls["r-0001"].frames["f-00001"].again == "a hair on it"
    await go(page, "Run")
    await expect(page.locator("rigd-errand")).to_contain_text("3 frames of this roll to go back to")
    await page.get_by_role("button", name="Go through them").click()
    errand = page.get_by_role("region", name="Going back")
    await expect(errand).to_contain_text("strip 1, place 1: to take again")
    await screen(page, "wide-run-errand")
    assert await violations(page) == []
    await errand.get_by_role("button", name="Another one").click()
    await expect(errand).to_contain_text("strip 1, place 2: doubtful")
    await errand.get_by_role("button", name="It will do").click()
    await expect(errand).to_contain_text("strip 1, place 3: passed over")
    assert desk.state.rolls["r-0001"].frames["f-00002"].accepted
    await errand.get_by_role("button", name="Bring it up").click()
    await expect(errand).to_contain_text("It is up")
    assert desk.state.frame_id == "f-00003"
    await expect(page.locator("rigd-band")).to_contain_text("strip 1, place 3")


async def test_what_is_told_about_a_frame_is_written_where_it_is_looked_at(eyes: Eyes, house: Served) -> None:
    page = await looking(eyes, house)
    await page.get_by_role("button", name="Frame 5, strip 2, place 1").click()
    await page.get_by_text("What is told about it").click()
    await page.get_by_label("Edge mark").fill("12A")
    await page.get_by_label("Title").fill("Customs shed")
    await flagging.mark(house.house.desk, flagging.Marking(ids=("f-00003",), film=Film.FOGGED), "phone")
    await expect(page.get_by_label("Title")).to_have_value("Customs shed")  # nothing takes away what is being written
    await page.keyboard.press("Enter")
    await expect(page.locator(".contact .shot").nth(4)).to_contain_text("12A")
    frame = house.house.desk.state.rolls["r-0001"].frames["f-00005"]
    assert (frame.about.title, frame.about.place, frame.frame.mark) == ("Customs shed", None, "12A")


async def test_what_others_say_is_seen_at_once(eyes: Eyes, house: Served) -> None:
    page = await looking(eyes, house)
    await expect(page.locator("rigd-rolls .sum")).to_contain_text("4 of 6 frames")
    await flagging.mark(house.house.desk, flagging.Marking(ids=("f-00003",), film=Film.UNEXPOSED), "phone")
    await expect(page.locator("rigd-rolls .sum")).to_contain_text("5 of 6 frames")
    await expect(page.locator(".contact .shot").nth(2)).to_contain_text("unexposed")


async def test_a_roll_is_planned_with_all_that_is_known_of_it(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house), PHONE)
    await go(page, "Rolls")
    await page.get_by_role("button", name="New roll").click()
    form = page.locator("form.plan")
    await expect(form.get_by_role("radio", name="safety")).to_be_checked()  # the job's own
    await form.get_by_label("Name, as written on its sleeve or box").fill("HO 1960-7")
    await form.get_by_label("Frames, as its box says").fill("36")
    await form.get_by_label("Format").select_option("135")
    await expect(form.get_by_role("status")).to_contain_text("usual")
    await form.get_by_role("radio", name="nitrate").check()
    await form.get_by_text("What is told about it").click()
    await form.get_by_label("Dates").fill("1960-07")
    await form.get_by_label("Keywords").fill("mole; storm")
    await screen(page, "phone-rolls-plan")
    assert await violations(page) == []
    await form.get_by_role("button", name="Plan it only").click()
    await expect(page.get_by_role("button", name="Look at HO 1960-7")).to_be_visible()
    roll = house.house.desk.state.rolls["r-0002"].roll
    assert (roll.base_type, roll.expected, roll.about.dates) == (BaseType.NITRATE, (36, 39), "1960-07")
    assert roll.about.keywords == ("mole", "storm")


async def test_a_table_plans_many_and_the_list_is_paged_and_searched(eyes: Eyes, house: Served) -> None:
    await many(house.house.desk, 50)
    page = await eyes.open(link(house), WIDE)
    await go(page, "Rolls")
    rows = page.locator("rigd-rolls .rows > li")
    await expect(rows).to_have_count(40)
    await expect(page.locator("rigd-rolls .list")).to_contain_text("1802 frames to come: about 7 h 31 min")
    await page.get_by_role("button", name="Show more").click()
    await expect(rows).to_have_count(51)
    await page.get_by_role("button", name="New roll").click()
    table = b"label,format,where\nHO 1961-1,mount,shelf 9\nHO 1961-2,135,shelf 9\n"
    await page.get_by_label("Or many from a table").set_input_files(
        {"name": "rolls.csv", "mimeType": "text/csv", "buffer": table}
    )
    await expect(page.locator("rigd-rolls .list")).to_contain_text("0 of 53 rolls done")
    await page.get_by_role("searchbox", name="Find rolls").or_(page.get_by_label("Find rolls")).fill("shelf 9")
    await page.keyboard.press("Enter")
    await expect(rows).to_have_count(2)
    await page.get_by_role("button", name="All again").click()
    await page.get_by_role("button", name="with doubts").click()
    await expect(rows).to_have_count(1)


async def test_all_jobs_are_searched_down_to_the_shelf(eyes: Eyes, house: Served, tmp_path: Path) -> None:
    other = tmp_path / "other"
    async with open_desk(other, Settings()) as desk:
        await rolls.open_job(desk, title="Shipyard Brandt: launches")
        kestrel = RollChanges(label="B 12", film_format="mount", where="box 7", about=AboutChanges(title="Kestrel"))
        await plans.plan(desk, plans.NewRoll(kestrel), "test")
        await remember(desk)
    shutil.move(other, tmp_path / "away")
    page = await eyes.open(link(house), PHONE)
    await go(page, "Rolls")
    await page.get_by_label("Find rolls").fill("kestrel")
    await page.get_by_role("button", name="In all jobs").click()
    hits = page.get_by_role("region", name="In all jobs")
    await expect(hits).to_contain_text("B 12, Shipyard Brandt: launches")
    await expect(hits).to_contain_text("Kept in: box 7")
    await expect(hits).to_contain_text("not there now")
    await screen(page, "phone-rolls-find")
    assert await violations(page) == []
    await page.get_by_label("Find rolls").fill("north mole")
    await page.get_by_role("button", name="In all jobs").click()
    await expect(hits).to_contain_text("HO 1957-031")
    await expect(hits).not_to_contain_text("not there now")


async def test_the_contact_sheet_comes_as_a_file(eyes: Eyes, house: Served) -> None:
    page = await looking(eyes, house)
    async with page.expect_download() as coming:
        await page.get_by_role("link", name="Contact sheet, PDF").click()
    found = await coming.value
    assert found.suggested_filename == "HO_1957-031-contact.pdf"
    text = pypdf.PdfReader(BytesIO(Path(await found.path()).read_bytes())).pages[0].extract_text()
    assert "North mole" in text
    assert "cabinet 4, drawer 2" in text


async def test_by_keyboard_alone(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house), WIDE)
    await go(page, "Rolls")
    await page.get_by_role("button", name="Look at HO 1957-031").focus()
    await page.keyboard.press("Enter")
    await page.get_by_role("button", name="Frame 2,").focus()
    await page.keyboard.press("Enter")
    await expect(page.get_by_label("Frame 2", exact=True)).to_be_focused()
    for _ in range(2):
        await page.keyboard.press("Tab")
    await page.keyboard.press("Enter")  # After
    await expect(page.get_by_role("heading", name="Frame 3: skipped")).to_be_visible()
    await expect(page.get_by_role("button", name="After")).to_be_focused()
