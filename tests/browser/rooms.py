"""Rooms for the page's tests: a served house without a camera, with a roll in it; and links into it."""

from __future__ import annotations

from playwright.async_api import Page, expect
from tests.unit.server.serving import Served

from rigd.model.words import Emulsion, Film
from rigd.operations import rolls, running
from rigd.server import Role

# Counts what the page would sound: one name for each run of notes, by the pitch of its first.
EARS = """
window.heard = [];
window.OscillatorNode = new Proxy(window.OscillatorNode, {
  construct(kind, args) { window.heard.push(args[1].frequency); return new kind(...args); },
});
"""

# A tunnel closes nothing: what is sent from then on is lost without a word, in both directions.
TUNNEL = """
window.tunnel = false;
const { send } = WebSocket.prototype;
WebSocket.prototype.send = function (data) { if (!window.tunnel) send.call(this, data); };
const onmessage = Object.getOwnPropertyDescriptor(WebSocket.prototype, "onmessage");
Object.defineProperty(WebSocket.prototype, "onmessage", {
  set(hear) {
    onmessage.set.call(this, (message) => { if (this.deaf || window.tunnel) this.deaf = true; else hear(message); });
  },
});
"""

JOB = "Port of Vessling, harbour office: survey negatives"


def link(house: Served, role: Role = Role.HOST) -> str:
    """A link that lets one browser in as `role`."""
    return f"{house.url}/#{house.house.book.invite(role)}"


async def with_a_roll(house: Served) -> None:
    """A roll of twelve with one strip of four: one left open, one unexposed, one passed over, one to come."""
    desk = house.house.desk
    await rolls.open_job(desk, title=JOB)
    roll = await rolls.plan_roll(
        desk, label="HO 1957-031", film_format_name="120-6x6", expected=(12, 12), strip_places=4, where="cabinet 4"
    )
    await rolls.open_roll(desk, roll_id=roll.roll_id)
    await rolls.load_strip(desk, places=4, emulsion=Emulsion.DOWN, turn=0)
    for _ in range(3):
        await running.skip(desk, source="page")
    await rolls.mark(desk, frame_id="f-00002", film=Film.UNEXPOSED, by="page")
    await rolls.mark(desk, frame_id="f-00003", film=Film.FOGGED, by="page")


async def word(page: Page, text: str, seconds: float = 20) -> None:
    """Wait until the strip of state says that word."""
    await expect(page.locator("rigd-band .word")).to_have_text(text, timeout=1000 * seconds)


async def go(page: Page, view: str) -> None:
    """To another view, by its link, and wait until it stands."""
    await page.get_by_role("link", name=view, exact=True).click()
    await expect(page.get_by_role("heading", name=view, level=2, exact=True)).to_be_attached()
