"""A house with a job of many rolls, two of which were digitised: for tests of the page's Rolls view."""

from __future__ import annotations

from tests.browser.rooms import JOB
from tests.unit.operations.shots import raw_files
from tests.unit.operations.taken import take

from rigd.model import events as ev
from rigd.model.metadata import AboutChanges
from rigd.model.plan import RollChanges
from rigd.model.values import Frame, Strip
from rigd.model.words import BaseType, Film, Quality
from rigd.operations import plans, rolls
from rigd.operations.desk import Desk

MOLE = RollChanges(
    label="HO 1957-031", film_format="120-6x6", expected=(6, 6), strip_places=4, where="cabinet 4, drawer 2",
    stock="pan 100",
    about=AboutChanges(title="North mole", place="Vessling", dates="1957-05", photographer="E. Harnack"),
)  # fmt: skip


async def digitised(desk: Desk) -> None:
    """One roll of six: strip 1 has four places, one of them passed over, strip 2 one frame; one is soft, one blank."""
    await rolls.open_job(desk, title=JOB, default_base=BaseType.SAFETY)
    await plans.plan(desk, plans.NewRoll(MOLE), "test")
    await rolls.open_roll(desk, roll_id="r-0001")
    contents = raw_files(4)
    await desk.hub.append(ev.StripLoaded(Strip("s-0001", "r-0001", 1, 4)))
    await _frame(desk, 1, "s-0001", 1, contents[0])
    await _frame(desk, 2, "s-0001", 2, contents[1], quality=Quality.SOFT)
    await desk.hub.append(ev.FramePlaced(Frame("f-00003", "r-0001", "s-0001", 3)), ev.FrameSkipped("f-00003"))
    await _frame(desk, 4, "s-0001", 4, contents[2], film=Film.UNEXPOSED)
    await desk.hub.append(ev.StripLoaded(Strip("s-0002", "r-0001", 2, 4)))
    await _frame(desk, 5, "s-0002", 1, contents[3])


async def many(desk: Desk, count: int) -> None:
    """So many rolls more, planned and not begun."""
    for number in range(1, count + 1):
        said = RollChanges(
            label=f"HO 1958-{number:03d}", film_format="135", exposures=36, where=f"box {1 + number // 10}",
            about=AboutChanges(title="Dredging the outer roads" if number % 2 else "Crane works"),
        )  # fmt: skip
        await plans.plan(desk, plans.NewRoll(said), "test")


async def _frame(
    desk: Desk, number: int, strip_id: str, place: int, content: bytes, film: Film = Film.PICTURE,
    quality: Quality = Quality.GOOD,
) -> None:  # fmt: skip
    frame_id = f"f-{number:05d}"
    await desk.hub.append(ev.FramePlaced(Frame(frame_id, "r-0001", strip_id, place)))
    await take(desk, frame_id, film, quality, content)
    await desk.hub.append(ev.Advanced(frame_id, place + 1))
