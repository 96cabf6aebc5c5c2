"""Sounds, voice and touch: what plays when, and that a legend plays them. The rules are the project's own."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from msgspec.structs import replace
from playwright.async_api import Page, expect
from tests.browser.conftest import PHONE, WIDE
from tests.browser.rooms import go, link, with_a_roll, word
from tests.unit.server.serving import Served, served

from rigd import paths
from rigd.hub import Refused
from rigd.model.events import AnyEvent, Armed, Troubled

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser
NOTES: dict[str, Any] = json.loads((paths.web_root() / "sound" / "notes.json").read_text("utf-8"))

# Ears: which notes are played and how loud, what is said, how it vibrates.
EARS = """
window.heard = []; window.loud = []; window.said = []; window.shaken = [];
window.OscillatorNode = new Proxy(window.OscillatorNode, {
  construct(kind, args) { window.heard.push(args[1].frequency); return new kind(...args); },
});
const ramp = AudioParam.prototype.linearRampToValueAtTime;
AudioParam.prototype.linearRampToValueAtTime = function (value, at) {
  window.loud.push(value);
  return ramp.call(this, value, at);
};
speechSynthesis.speak = (words) => window.said.push(words.text);
navigator.vibrate = (pattern) => { window.shaken.push(pattern); return true; };
"""


@pytest.fixture
async def house(eyes: Eyes, tmp_path: Path) -> AsyncIterator[Served]:
    async with served(tmp_path) as found:
        await with_a_roll(found)
        yield found
        await eyes.close_pages()


def pitches(name: str) -> list[float]:
    return [note[0] for note in NOTES[name]["notes"] if note[2] > 0]


async def awake(eyes: Eyes, house: Served, size: tuple[int, int] = WIDE) -> Page:
    """A page that may sound."""
    page = await eyes.open(link(house), size, EARS)
    await word(page, "Ready")
    await page.locator("rigd-mute button").click()
    await expect(page.locator("rigd-mute button")).to_have_attribute("aria-label", "Sound on")
    await forget(page)
    return page


async def forget(page: Page) -> None:
    await page.wait_for_function("window.heard.length > 0")
    await page.evaluate("window.heard = []; window.loud = []; window.shaken = []; window.said = [];")


async def heard(page: Page, house: Served, event: AnyEvent) -> list[float]:
    """What is played for an event, once it has been folded."""
    await house.house.desk.hub.append(event)
    seq = house.house.desk.state.seq
    await page.wait_for_function(
        "async (seq) => (await import('/state/store.js')).store.view.state.seq >= seq", arg=seq
    )
    return list(await page.evaluate("window.heard"))


async def test_the_first_tap_lets_sound_begin_and_the_next_silences_it(eyes: Eyes, house: Served) -> None:
    page = await eyes.open(link(house), PHONE, EARS)
    await word(page, "Ready")
    button = page.locator("rigd-mute button")
    for words in ("Tap for sound", "Sound on", "Sound off", "Sound on"):
        await expect(button).to_have_attribute("aria-label", words)
        await button.tap()
    await expect(button).to_have_attribute("aria-label", "Sound off")
    await page.reload()
    await expect(button).to_have_attribute("aria-label", "Sound off")


async def test_what_needs_somebody_calls_shakes_and_speaks_if_asked(eyes: Eyes, house: Served) -> None:
    page = await awake(eyes, house)
    trouble = Troubled("camera-lost", "The camera went away.", "It was unplugged.", "Plug it in.")
    assert await heard(page, house, trouble) == pitches("call")
    assert await page.evaluate("window.shaken") == [NOTES["call"]["buzz"]]
    assert await page.evaluate("window.said") == []
    await go(page, "Bench")
    await page.get_by_label("say it in words").check()
    await heard(page, house, trouble)
    assert await page.evaluate("window.said") == ["The camera went away. Plug it in."]


async def test_where_to_slide_is_said_while_armed(eyes: Eyes, house: Served) -> None:
    page = await awake(eyes, house)
    await go(page, "Bench")
    await page.get_by_label("say it in words").check()
    await go(page, "Run")
    hub = house.house.desk.hub
    await hub.append(Armed("page"))
    hub.notice(replace(hub.vitals, watch="near", where="Slide 3 mm to the left.", nudge_mm=-3.0))
    await word(page, "3 mm")
    await expect(page.locator("rigd-band")).to_have_attribute("data-mood", "left")
    assert await page.evaluate("window.said") == ["Slide 3 mm to the left."]
    hub.notice(replace(hub.vitals, watch="ready", where="", nudge_mm=None))
    await word(page, "Armed")


async def test_a_refusal_is_heard_wherever_it_came_from_and_may_be_switched_off(eyes: Eyes, house: Served) -> None:
    page = await awake(eyes, house)
    house.house.desk.hub.notice(Refused("busy", "One thing at a time.", "", "Wait.", "pedal"))
    await expect(page.locator("rigd-trouble .refusal")).to_be_visible()
    assert await page.evaluate("window.heard") == pitches("refused")
    await forget(page)
    await go(page, "Bench")
    await page.get_by_label("the sounds that are not marked").uncheck()
    house.house.desk.hub.notice(Refused("busy", "Another thing.", "", "Wait.", "pedal"))
    await expect(page.locator("rigd-trouble .refusal")).to_contain_text("Another thing.")
    assert await page.evaluate("window.heard") == []


async def test_the_legend_plays_every_sound_as_loud_as_was_set(eyes: Eyes, house: Served) -> None:
    page = await awake(eyes, house)
    await go(page, "Bench")
    for name, tune in NOTES.items():
        await page.get_by_role("button", name=f"Play: {tune['says']}").click()
        await page.wait_for_function("(n) => window.heard.length >= n", arg=len(pitches(name)))
        assert await page.evaluate("window.heard") == pitches(name)
        await forget(page)
    await page.get_by_label("Volume").fill("0.2")
    await forget(page)
    await page.get_by_role("button", name=f"Play: {NOTES['call']['says']}").click()
    await page.wait_for_function("window.loud.length > 0")
    # Notes swell to their loudness times the volume, and fade to nothing.
    assert max(await page.evaluate("window.loud")) == pytest.approx(0.2 * max(n[2] for n in NOTES["call"]["notes"]))


def test_no_two_sounds_are_alike_in_rhythm() -> None:
    """Nobody has to tell them apart by pitch alone."""
    rhythms = {name: tuple((n[1], n[2] > 0) for n in tune["notes"]) for name, tune in NOTES.items()}
    assert len(set(rhythms.values())) == len(rhythms)
    assert [name for name, tune in NOTES.items() if tune["needed"]] == ["closed", "safe", "call"]
