"""Phones at the page: let in by a code, their rights, one hand at the rig, handing over, sending away."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
import pytest
from playwright.async_api import Page, expect
from tests.browser.conftest import PHONE, WIDE, screen
from tests.browser.rooms import EARS, go, link, with_a_roll, word
from tests.unit.server.serving import Served, served

from rigd.server import Role

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        await with_a_roll(found)
        yield found
        await eyes.close_pages()


async def offered(eyes: Eyes, house: Served) -> Page:
    """The host's page with a code on it."""
    host = await eyes.open(link(house), WIDE)
    await go(host, "Bench")
    await host.get_by_role("button", name="Show its code").click()
    await expect(host.locator(".offer .letters")).to_be_visible()
    return host


async def test_a_phone_types_the_letters_and_is_let_in(eyes: Eyes, house: Served) -> None:
    eyes.expected += ["401", "403"]
    host = await offered(eyes, house)
    await screen(host, "wide-bench-pairing")
    letters = await host.locator(".offer .letters").inner_text()
    phone = await eyes.open(house.url, PHONE)
    await word(phone, "Locked")
    await screen(phone, "phone-locked")
    field = phone.get_by_label("Eight letters")
    await field.fill("BCDF-GHJK")
    await phone.get_by_role("button", name="Come in").click()
    await expect(phone.locator("rigd-trouble .refusal")).to_contain_text("4 more wrong tries")
    await expect(host.locator(".offer")).to_contain_text("1 wrong code was typed.", timeout=10_000)
    await field.fill(letters.lower())
    await field.press("Enter")
    await word(phone, "Ready")
    await expect(phone.locator("rigd-trouble .refusal")).to_have_count(0)
    await expect(host.locator(".offer")).to_have_count(0, timeout=10_000)
    await expect(host.locator(".devices")).to_contain_text("phone")
    await screen(host, "wide-bench-devices")


async def test_the_qr_code_on_the_page_leads_in(eyes: Eyes, house: Served) -> None:
    """Read from the picture of the page by OpenCV's reader of ISO/IEC 18004, as a phone's camera would."""
    host = await offered(eyes, house)
    picture = cv2.imdecode(np.frombuffer(await host.locator(".qr").screenshot(), np.uint8), cv2.IMREAD_GRAYSCALE)
    assert picture is not None
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(cv2.resize(picture, None, fx=3, fy=3))
    assert text.startswith(f"{house.url}/#")
    phone = await eyes.open(text, PHONE)
    await word(phone, "Ready")
    assert phone.url == f"{house.url}/", "the code is wiped from the address"
    await expect(phone.locator("rigd-trigger .press")).to_be_enabled()


async def test_an_old_link_says_what_to_do(eyes: Eyes, house: Served) -> None:
    eyes.expected += ["401", "403"]
    phone = await eyes.open(f"{house.url}/#{'A' * 32}", PHONE)
    await word(phone, "Locked")
    await expect(phone.locator("rigd-trouble .refusal")).to_contain_text("open pairing once more")


async def test_leaving_the_bench_shuts_the_pairing(eyes: Eyes, house: Served) -> None:
    host = await offered(eyes, house)
    assert house.house.book.codes.pairing is not None
    async with host.expect_response("**/api/pairing/shut"):
        await go(host, "Run")
    assert house.house.book.codes.pairing is None


async def test_a_viewer_looks_and_finds_nothing_to_press(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house, Role.VIEWER), PHONE)
    await word(page, "Ready")
    await expect(page.locator("rigd-hold")).to_contain_text("You may look.")
    assert await page.locator("footer button").count() == 0
    await page.keyboard.press("Space")
    await go(page, "Bench")
    await expect(page.locator("rigd-people")).to_contain_text("on the machine that rigd runs on")
    assert await page.get_by_role("button", name="Show its code").count() == 0
    assert eyes.errors == []


async def test_one_phone_works_the_rig_and_a_second_takes_over(eyes: Eyes, house: Served) -> None:
    first = await eyes.open(link(house, Role.OPERATOR), PHONE, EARS)
    second = await eyes.open(link(house, Role.OPERATOR), PHONE)
    for page in (first, second):
        await word(page, "Ready")
    await first.get_by_role("button", name="Back").tap()
    await expect(first.locator("rigd-band .vitals")).to_contain_text("in control")
    await expect(second.locator("rigd-hold")).to_contain_text("works the rig.")
    await expect(second.locator(".press")).to_have_count(0)
    await expect(second.get_by_role("button", name="Take again")).to_be_disabled()
    await expect(second.get_by_role("button", name="Stop")).to_be_enabled()
    await screen(second, "phone-other-hand")
    await second.locator("rigd-trigger .over").tap()
    await expect(second.locator("rigd-band .vitals")).to_contain_text("in control")
    await expect(second.locator(".press")).to_be_enabled()
    await expect(first.locator("rigd-hold strong")).to_have_text("phone 2")
    assert await first.evaluate("window.heard.slice(-2)") == [440, 330], "the sound of another hand"
    await first.close()
    await second.get_by_role("button", name="Pass over").tap()
    await expect(second.locator(".press")).to_contain_text("strip 1, place 4")


async def test_a_stale_page_is_refused_without_harm(eyes: Eyes, house: Served) -> None:
    """A command that was on its way when control went over."""
    eyes.expected.append("409")
    page = await eyes.open(link(house, Role.OPERATOR), WIDE)
    other = await eyes.open(link(house, Role.OPERATOR), WIDE)
    for one in (page, other):
        await word(one, "Ready")
    await other.evaluate("fetch('/api/control', {method: 'POST', headers: {'Content-Type': 'application/json'}, "
                         "body: '{\"hold\": true}'})")
    await expect(page.locator("rigd-hold")).to_contain_text("works the rig")
    seq = house.house.desk.state.seq
    await page.evaluate("import('/net/command.js').then((net) => net.command('/api/skip', {}))")
    await expect(page.locator("rigd-trouble .refusal")).to_contain_text("Take control first")
    assert house.house.desk.state.seq == seq


async def test_a_device_that_is_sent_away_is_locked_at_once(eyes: Eyes, house: Served) -> None:
    eyes.expected.append("401")
    host = await eyes.open(link(house), WIDE)
    phone = await eyes.open(link(house, Role.OPERATOR), PHONE)
    await word(phone, "Ready")
    await go(host, "Bench")
    await expect(host.locator(".devices")).to_contain_text("looking now")
    await host.get_by_role("button", name="Send phone away").click()
    await word(phone, "Locked")
    await expect(host.locator(".devices")).not_to_contain_text("phone")
