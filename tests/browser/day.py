"""One evening's work at the page, step by step, on the whole daemon with a simulated rig: the same story for a phone
and for a wide screen. Each step leaves a picture of the page in `build/screens/`."""

from __future__ import annotations

import asyncio
import contextlib
import re
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path

from playwright.async_api import Locator, Page, expect
from tests.browser.conftest import PHONE, WIDE, Eyes, luminance, screen, violations
from tests.browser.dark import Room, room
from tests.browser.rooms import EARS, TUNNEL, go, word

VIEWS = ("Bench", "Rolls", "Handover", "Run")
# A frame takes some seconds; a machine that does other things too takes longer.
LONG_MS = 45_000


@dataclass
class Day:
    """`page` is the one that is worked at, `host` the one on the machine itself."""

    name: str
    size: tuple[int, int]
    eyes: Eyes
    dark: Room
    host: Page
    page: Page

    @property
    def touched(self) -> bool:
        return self.size == PHONE

    async def press(self, target: Locator) -> None:
        """As the device presses: by a finger, or by the mouse."""
        await (target.tap() if self.touched else target.click())

    async def button(self, words: str) -> None:
        await self.press(self.page.get_by_role("button", name=words, exact=True))

    async def trigger(self) -> None:
        """By the thumb, or by the key; not while the step before is still ending, for a press is then refused."""
        await self.dark.daemon.desk.engine().until_idle()
        await expect(self.page.locator(".press")).to_be_enabled(timeout=LONG_MS)
        await (self.press(self.page.locator(".press")) if self.touched else self.page.keyboard.press("Space"))

    async def film(self, place: int, strip: int = 1) -> None:
        await asyncio.to_thread(self.dark.film, place, strip)

    async def taken(self, number: int) -> bool:
        """Wait until so many frames are done. Where the machine is too busy for the simulated camera to answer within
        libgphoto2's 2.5 s, it is won back by the page's button and the frame is taken again; then False."""
        done = self.page.locator("rigd-roll .done").get_by_text(str(number), exact=True)
        recover = self.page.get_by_role("button", name="Recover")
        for attempt in range(3):
            await expect(done.or_(recover)).to_be_visible(timeout=LONG_MS)
            if await done.count():
                return attempt == 0
            await self.press(recover)
            await expect(recover).to_have_count(0, timeout=LONG_MS)
            if not await done.count():
                await self.trigger()
        return False

    def cell(self, number: int) -> Locator:
        return self.page.locator("rigd-sleeve .cell").nth(number - 1)

    async def cell_says(self, number: int, words: str) -> None:
        await expect(self.cell(number)).to_have_attribute("aria-label", words, timeout=LONG_MS)

    async def heard(self) -> list[int]:
        """The pitches that sounded since this was asked last."""
        return await self.page.evaluate("window.heard.splice(0)")  # type: ignore[no-any-return]

    async def kept_as(self, moment: str) -> None:
        await screen(self.page, f"{self.name}-day-{moment}")


@contextlib.asynccontextmanager
async def day(name: str, size: tuple[int, int], eyes: Eyes, into: Path) -> AsyncIterator[Day]:
    """The daemon with its host's page; the device is let in by the letters that stand there."""
    eyes.expected += ["401"]
    async with room(into, eyes) as dark:
        host = await eyes.open(dark.link, WIDE)
        await word(host, "Ready")
        page = await eyes.open(dark.url, size, EARS + TUNNEL)
        yield Day(name, size, eyes, dark, host, page)


async def come_in(d: Day) -> None:
    await word(d.page, "Locked")
    await go(d.host, "Bench")
    await d.host.get_by_role("button", name="Show its code").click()
    letters = await d.host.locator(".offer .letters").inner_text()
    await d.page.get_by_label("Eight letters").fill(letters)
    await d.button("Come in")
    await word(d.page, "Ready")


async def measure_the_lamp(d: Day) -> None:
    """With the gate open; after that an empty gate is known from clear film."""
    await asyncio.to_thread(d.dark.hand.call, "lay", strip=None)
    await go(d.page, "Bench")
    await d.button("Measure the open gate")
    await expect(d.page.get_by_role("button", name="Measure it again")).to_be_enabled(timeout=LONG_MS)
    await d.dark.daemon.desk.engine().until_idle()
    await go(d.page, "Run")


async def forget_to_lay_film(d: Day) -> None:
    """The rig calls, and says what to do; nothing is counted."""
    await d.heard()
    await d.trigger()
    await word(d.page, "Needs you", 45)
    assert 659 in await d.heard(), "the call"
    await expect(d.page.locator("rigd-trouble .remedy")).not_to_be_empty()
    await d.kept_as("needs-you")
    assert d.dark.state.roll is not None
    assert [f.keeper for f in d.dark.state.roll.frames.values()] in ([], [()])


async def take_a_strip(d: Day) -> None:
    """Four frames; the sounds tell when the hand is free."""
    for place in (1, 2, 3, 4):
        await d.film(place)
        await d.heard()
        await expect(d.page.locator(".press")).to_contain_text(f"place {place}", timeout=LONG_MS)
        await d.trigger()
        if await d.taken(place):
            heard = await d.heard()
            assert heard[0] == 1900, "tick: the shutter has closed"
            assert heard[-2:] == [523, 784], "tone: the file is safe"
    await expect(d.page.locator("rigd-band .line")).to_contain_text("That strip is through. Lay in strip 2")
    await expect(d.page.locator("rigd-last .outline")).to_have_count(1, timeout=LONG_MS)
    await d.kept_as("strip-taken")


async def take_one_again(d: Day) -> None:
    assert d.dark.state.roll is not None
    before = len(d.dark.state.roll.frames["f-00001"].takes)
    await d.film(1)
    await d.press(d.cell(1))
    await expect(d.page.locator("rigd-hand .whose")).to_have_text("Strip 1, place 1, chosen")
    await d.button("Take again")
    await expect(d.page.locator("rigd-takes li").nth(before)).to_contain_text(re.compile("kept|again"), timeout=LONG_MS)
    await expect(d.page.locator("rigd-takes li.kept")).to_have_count(1, timeout=LONG_MS)
    await word(d.page, "Move on", 45)
    await d.kept_as("taken-again")
    await d.press(d.cell(1))


async def mark_one_unexposed(d: Day) -> None:
    """Marked, taken back, marked again."""
    await d.press(d.cell(2))
    await d.button("Unexposed")
    await d.cell_says(2, "Strip 1, place 2: unexposed")
    await d.button("Undo")
    await d.cell_says(2, "Strip 1, place 2: picture kept")
    await d.button("Unexposed")
    await d.cell_says(2, "Strip 1, place 2: unexposed")
    await expect(d.page.locator("rigd-roll dl")).to_contain_text("unexposed1")
    await d.press(d.cell(2))


async def lose_the_line(d: Day) -> None:
    """A tunnel: nothing arrives and nothing is closed. What happened meanwhile is there when the line is back."""
    await d.page.evaluate("window.tunnel = true")
    await word(d.page, "No link", 20)
    await expect(d.page.locator(".press")).to_be_disabled()
    await d.kept_as("no-link")
    await go(d.host, "Run")
    await d.host.get_by_role("button", name="Take control").first.click()
    await d.host.get_by_role("button", name="Pass over strip 2, place 1").click()
    await d.page.evaluate("window.tunnel = false")
    await expect(d.page.locator("rigd-band .vitals")).to_contain_text("linked", timeout=LONG_MS)
    await d.cell_says(5, "Strip 2, place 1: passed over")


async def hand_over(d: Day) -> None:
    """The host's page has control since then; this one sees it, and takes it back."""
    await expect(d.page.locator("rigd-hold")).to_contain_text("works the rig")
    await expect(d.page.locator(".press")).to_have_count(0)
    await d.kept_as("other-hand")
    await d.press(d.page.locator("rigd-trigger .over"))
    await expect(d.page.locator(".press")).to_be_enabled()
    await expect(d.host.locator("rigd-hold strong")).not_to_be_empty()


async def feed_without_pressing(d: Day) -> None:
    """Armed, the rig takes what comes to rest in the gate; disarmed, it does not."""
    await d.film(2, strip=2)
    await d.button("Arm")
    await word(d.page, "Armed")
    await d.kept_as("armed")
    await d.cell_says(6, "Strip 2, place 2: picture kept")
    await d.press(d.page.get_by_role("button", name="Armed"))
    await expect(d.page.get_by_role("button", name="Arm", exact=True)).to_be_visible()


async def plan_a_roll_with_a_long_name(d: Day) -> None:
    name = "Survey of the western quays, sheets 1 to 48, of the second year"[:60]
    await go(d.page, "Rolls")
    await d.button("New roll")
    await d.page.get_by_label("Name, as written on its sleeve or box").fill(name)
    await d.button("Plan it only")
    await expect(d.page.locator("rigd-rolls")).to_contain_text(name, timeout=LONG_MS)


async def look_at_every_view(d: Day) -> None:
    """In both looks: nothing sticks out, and axe-core finds nothing."""
    for look in ("dark room", "office"):
        await go(d.page, "Bench")
        await d.page.get_by_label(look).check()
        for view in VIEWS:
            await go(d.page, view)
            assert await d.page.evaluate("document.documentElement.scrollWidth") <= d.size[0], view
            assert await violations(d.page) == []
            if look == "dark room":
                assert await luminance(d.page) < 0.02, view
            await d.kept_as(f"{view.lower()}-{look.partition(' ')[0]}")


STORY = (
    come_in, measure_the_lamp, forget_to_lay_film, take_a_strip, take_one_again, mark_one_unexposed, lose_the_line,
    hand_over, feed_without_pressing, plan_a_roll_with_a_long_name, look_at_every_view,
)  # fmt: skip


async def whole_day(name: str, size: tuple[int, int], eyes: Eyes, into: Path) -> None:
    async with day(name, size, eyes, into) as d:
        for step in STORY:
            await step(d)
