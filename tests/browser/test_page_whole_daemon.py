"""The page on the whole daemon with a simulated rig: press the key, and see the frame arrive."""

from __future__ import annotations

import asyncio
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.async_api import expect
from tests.browser.conftest import PHONE, WIDE, luminance, screen, violations
from tests.browser.dark import room
from tests.browser.rooms import EARS, go, word
from websockets.asyncio.client import connect

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


async def test_press_the_key_and_the_frame_arrives(eyes: Eyes, tmp_path: Path) -> None:
    async with room(tmp_path, eyes) as dark:
        await asyncio.to_thread(dark.film, 1)
        page = await eyes.open(dark.link, WIDE, EARS)
        phone = await page.context.new_page()
        await phone.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        await phone.goto(dark.url)
        await word(page, "Ready")
        await expect(page.locator("rigd-live canvas")).to_be_visible()
        await page.bring_to_front()
        await page.keyboard.press("Space")
        await word(page, "Move on")
        await word(phone, "Move on")
        await expect(page.locator("rigd-roll .done")).to_have_text("1")
        await expect(page.locator("rigd-sleeve .cell").first).to_have_attribute(
            "aria-label", "Strip 1, place 1: picture kept"
        )
        await expect(page.locator("rigd-shutter .big").first).to_have_text("Good, kept")
        await expect(page.locator("rigd-last .frame:not([aria-busy]) canvas")).to_have_count(2)
        for picture in await page.locator("rigd-last canvas").all():
            assert await picture.evaluate("(canvas) => canvas.width") > 100
        hill = page.locator("rigd-levels .ridges").first.locator(".hill").first
        await expect(hill).to_have_attribute("d", re.compile(r"^M26 \S+L"))
        assert await page.evaluate("window.heard") == [1900, 523, 784], "tick: shutter closed; tone: file safe"
        take = next(iter(dark.state.rolls.values())).takes
        assert [t.verified is not None and t.path != "" for t in take.values()] == [True]
        assert await violations(page) == []
        assert await luminance(page) < 0.02, "with pictures on it, in the look of the dark room"
        await screen(page, "wide-run")
        await phone.bring_to_front()
        await expect(phone.locator("rigd-live canvas")).to_be_visible()
        assert await violations(phone) == []
        assert await luminance(phone) < 0.02
        await screen(phone, "phone-run")


async def test_a_held_key_triggers_once_and_a_press_meanwhile_is_refused(eyes: Eyes, tmp_path: Path) -> None:
    async with room(tmp_path, eyes, settle_s=1.0) as dark:
        await asyncio.to_thread(dark.film, 1)
        eyes.expected.append("409")
        page = await eyes.open(dark.link, WIDE, EARS)
        await word(page, "Ready")
        await page.keyboard.down("Space")
        for _ in range(5):
            await page.keyboard.down("Space")  # the browser marks these as repeats
        await page.keyboard.up("Space")
        await word(page, "Hands off")
        await screen(page, "wide-hands-off")
        assert await page.locator("rigd-trouble .refusal").count() == 0
        await page.keyboard.press("Enter")
        await expect(page.locator("rigd-trouble .refusal")).to_contain_text("One thing at a time.")
        assert (await page.evaluate("window.heard"))[0] == 165, "the sound of a refusal"
        await word(page, "Move on")
        assert dark.state.take_count == 1


async def test_keys_in_a_field_are_text(eyes: Eyes, tmp_path: Path) -> None:
    async with room(tmp_path, eyes) as dark:
        page = await eyes.open(dark.link)
        await word(page, "Ready")
        await go(page, "Rolls")
        await page.get_by_role("button", name="New roll").click()
        name = page.get_by_label("Name, as written on its sleeve or box")
        await name.fill("HO")
        await name.press("Space")
        await name.press("End")
        await name.press("7")
        assert await name.input_value() == "HO 7"
        assert dark.state.take_count == 0


async def test_an_empty_gate_calls_for_somebody(eyes: Eyes, tmp_path: Path) -> None:
    async with room(tmp_path, eyes) as dark:
        await asyncio.to_thread(dark.hand.call, "lay", strip=None)
        page = await eyes.open(dark.link, WIDE, EARS)
        await word(page, "Ready")
        await go(page, "Bench")
        measure = page.get_by_role("button", name="Measure the open gate")
        await measure.click()
        await expect(page.get_by_role("button", name="Measure it again")).to_be_enabled(timeout=20_000)
        await dark.daemon.desk.engine().until_idle()
        await expect(page.get_by_role("button", name="Sound on")).to_be_visible()
        await go(page, "Run")
        await page.keyboard.press("Enter")
        await word(page, "Needs you")
        assert 659 in await page.evaluate("window.heard"), "the call"
        await expect(page.locator("rigd-trouble")).to_contain_text("trigger again")
        assert await violations(page) == []
        await screen(page, "wide-needs-you")
        await page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        await screen(page, "phone-needs-you")
        await asyncio.to_thread(dark.film, 1)
        await page.keyboard.press("Enter")
        await word(page, "Move on")
        assert dark.state.trouble is None


async def test_a_camera_that_was_switched_off_comes_back_by_one_button(eyes: Eyes, tmp_path: Path) -> None:
    async with room(tmp_path, eyes) as dark:
        await asyncio.to_thread(dark.film, 1)
        page = await eyes.open(dark.link)
        await word(page, "Ready")
        await asyncio.to_thread(dark.hand.call, "power", on=False)
        await page.keyboard.press("Space")
        await expect(page.get_by_role("button", name="Recover")).to_be_visible(timeout=60_000)
        await word(page, "Needs you")
        await asyncio.to_thread(dark.hand.call, "power", on=True)
        await page.get_by_role("button", name="Recover").click()
        await expect(page.get_by_role("button", name="Recover")).to_have_count(0, timeout=60_000)
        await word(page, "Ready")
        await page.keyboard.press("Space")
        await word(page, "Move on")


async def test_a_frame_is_chosen_and_taken_again(eyes: Eyes, tmp_path: Path) -> None:
    async with room(tmp_path, eyes) as dark:
        page = await eyes.open(dark.link)
        for place in (1, 2):
            await asyncio.to_thread(dark.film, place)
            await page.keyboard.press("Space")
            await expect(page.locator("rigd-roll .done")).to_have_text(str(place), timeout=20_000)
        await asyncio.to_thread(dark.film, 1)
        await page.locator("rigd-sleeve .cell").first.click()
        await page.get_by_role("button", name="Take again").click()
        await expect(page.locator("rigd-sleeve .cell").first).to_have_attribute(
            "aria-label", "Strip 1, place 1: picture kept, 2 takes", timeout=20_000
        )
        await expect(page.locator("rigd-takes li.kept")).to_contain_text("Take 2")
        await expect(page.locator(".press")).to_contain_text("place 3")


async def test_one_live_picture_is_on_its_way_at_a_time(tmp_path: Path) -> None:
    async with room(tmp_path) as dark:
        headers = {"Authorization": f"Bearer {dark.token}"}
        url = dark.url.replace("http", "ws", 1) + "/api/live"
        async with connect(url, additional_headers=headers, compression=None) as slow:
            await slow.send('{"kind": "watch", "live": true}')
            first = await picture(slow)
            # The client says nothing: ten other messages come, and no picture among them.
            for _ in range(5):
                await slow.send('{"kind": "fresh"}')
            kinds = [json.loads(await asyncio.wait_for(slow.recv(), 10))["kind"] for _ in range(5)]
            assert "picture" not in kinds
            feed = dark.daemon.desk.engine().live
            await feed.next_picture(first + 3)
            await slow.send(json.dumps({"kind": "seen", "picture": first}))
            assert await picture(slow) > first + 2, "what it did not fetch in time it never sees"
            await slow.send('{"kind": "watch", "live": false}')


async def picture(line: Any) -> int:
    """The number of the next live picture, once it is here and is a JPEG."""
    while True:
        said = json.loads(await asyncio.wait_for(line.recv(decode=True), 20))
        if said["kind"] == "picture":
            jpeg = await asyncio.wait_for(line.recv(), 20)
            assert jpeg[:2] == b"\xff\xd8"  # ITU-T T.81: start of image
            return int(said["number"])
