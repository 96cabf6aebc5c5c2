"""A job of three rolls over two evenings, on the whole daemon: mixed formats and kinds, a strip fed end for end and out
of order, two blanks, a slide in two exposures, a frame passed over and gone back to, a retake the next day. In the end
every frame on film is a verified file or a recorded blank, whoever looks: the tally, sha256sum, a ledger built anew.

What the film holds is the simulator's script: of 8 frames the 5th, of 4 frames the 2nd was never exposed.
"""

from __future__ import annotations

import asyncio
import contextlib
import shutil
import subprocess
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from rigs import nonce, settings_for

from rigd import paths
from rigd.app.daemon import Daemon, running_daemon
from rigd.client import RemoteVerbs, remote_verbs
from rigd.drivers.clock import RealClock
from rigd.hub import Accounted
from rigd.ledger import Ledger
from rigd.model.plan import RollChanges
from rigd.model.reduce import fold, reduce
from rigd.model.state import State
from rigd.model.tally import Tally, kind_of, tally
from rigd.model.values import Take
from rigd.model.words import BaseType, Colour, Film, Tone
from rigd.operations import counting, flagging, plans, strips
from rigd.operations.counting import OfRoll
from rigd.operations.flagging import Keeping
from rigd.operations.rebuilding import rebuild
from rigd.operations.strips import Lay
from rigd.operations.verb import Nothing
from rigd_sim.control.start import SimulatedCamera, simulated_camera

HO = RollChanges(label="HO 12", film_format="120-6x6", expected=(8, 8), strip_places=4, where="box 2, sleeve 7")
COLOUR = RollChanges(label="HO 13", film_format="135", colour=Colour.COLOUR, expected=(4, 4), strip_places=4)
SLIDES = RollChanges(label="HO slides", film_format="mount", tone=Tone.POSITIVE, colour=Colour.COLOUR, expected=(2, 2))
FILMS = {
    "HO 12": ("--film-format", "120-6x6", "--frames", "8", "--strip", "4"),
    "HO 13": ("--film-format", "135", "--colour", "colour", "--frames", "4", "--strip", "4"),
    "HO slides": ("--film-format", "mount", "--tone", "positive", "--colour", "colour", "--frames", "8"),
}


@dataclass
class Evening:
    """A daemon on the job with one film on the light table, and what it told by itself."""

    daemon: Daemon
    verbs: RemoteVerbs
    camera: SimulatedCamera
    accounts: list[Accounted] = field(default_factory=list)

    @property
    def state(self) -> State:
        return self.daemon.desk.state

    async def take(self, strip: int, frame: int) -> str:
        """The film frame into the gate, a trigger, and the end of it; the frame's id."""
        if self.camera.hand.film().get("strip") != strip:
            await self.camera.hand.acall("lay", strip=strip)
        await self.camera.hand.acall("slide", frame=frame, seconds=0.05)
        await self.verbs.trigger(nonce=nonce(), target=self.state.target)
        await self.daemon.desk.engine().until_idle()
        assert self.state.trouble is None, self.state.trouble
        return max(i for roll in self.state.rolls.values() for i in roll.frames)

    async def back(self, frame_id: str, strip: int, frame: int) -> None:
        """A frame of the film once more into the gate, and taken again."""
        await self.camera.hand.acall("lay", strip=strip)
        await self.camera.hand.acall("slide", frame=frame, seconds=0.05)
        await self.verbs.retake(nonce=nonce(), frame_id=frame_id)
        await self.daemon.desk.engine().until_idle()
        assert self.state.trouble is None, self.state.trouble


@contextlib.asynccontextmanager
async def evening(root: Path, label: str, first_number: int) -> AsyncIterator[Evening]:
    words = ("--megapixels", "2", "--first-number", str(first_number), *FILMS[label])
    with simulated_camera(*words) as camera:
        async with contextlib.AsyncExitStack() as stack:
            settings = settings_for(f"ptpip:{camera.address}")
            daemon = await stack.enter_async_context(running_daemon(root, settings))
            verbs = await stack.enter_async_context(remote_verbs(daemon.url, daemon.token))
            await daemon.desk.engine().until_idle()
            listener = daemon.desk.hub.subscribe(100_000)
            found = Evening(daemon, verbs, camera)
            yield found
            listener.end()
            found.accounts = [item async for item in listener if isinstance(item, Accounted)]


async def first_evening(at: Evening) -> None:
    """The job, all that is known of its rolls; strip 2 of HO 12 first and end for end, then strip 1 but its third."""
    await at.verbs.open_job(title="Survey of the quays", default_base=BaseType.SAFETY)
    for roll in (HO, COLOUR, SLIDES):
        await at.verbs.do(plans.PLAN, plans.NewRoll(roll))
    await at.verbs.open_roll(roll_id="HO 12")
    await at.verbs.do(strips.LAY, Lay(number=2, turn=180))
    for frame in (4, 3, 2, 1):
        await at.take(2, frame)
    await at.verbs.do(strips.LAY, Lay(number=1, turn=0))
    for frame in (1, 2):
        await at.take(1, frame)
    await at.verbs.skip()


async def second_evening(at: Evening) -> None:
    """On at the exact frame; then the one that was passed over, and one again that somebody wants better."""
    assert at.state.target == "s-0002#4"
    await at.take(1, 4)
    laid = await at.verbs.do(strips.LAY, Lay(number=1))
    assert laid.target == "s-0002#3"
    await at.take(1, 3)
    await at.back("f-00001", 2, 4)
    told = await at.verbs.do(counting.ACCOUNT, counting.OfStrip("HO 12"))
    assert (told.even, told.findings) == (True, ()), told
    assert told.sentence == "7 pictures + 1 blank = 8, as the sleeve says."
    await at.verbs.close_roll(roll_id="HO 12")


async def colour_roll(at: Evening) -> None:
    await at.verbs.open_roll(roll_id="HO 13")
    for frame in (1, 2, 3, 4):
        await at.take(1, frame)
    await at.verbs.close_roll(roll_id="HO 13")


async def slides(at: Evening) -> None:
    """Two mounts, one by one; the second, dense one, in two exposures."""
    await at.verbs.open_roll(roll_id="HO slides")
    for number in (1, 2):
        await at.verbs.do(strips.LAY, Lay(number=number, places=1))
        frame_id = await at.take(number, 1)
    await at.back(frame_id, 2, 1)
    roll = at.state.rolls["r-0003"]
    kept = tuple(t for t in roll.frames[frame_id].takes if roll.takes[t].path)[-2:]
    await at.verbs.do(flagging.KEEP, Keeping(frame_id, kept))
    await at.verbs.do(flagging.ACCEPT, flagging.Some(roll="HO slides"))
    await at.verbs.close_roll(roll_id="HO slides")


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Accounted]]:
    """The job's folder after it all, and what was told at the ends of strips, rolls and the job."""
    root = tmp_path_factory.mktemp("three") / "job"
    return root.with_name("elsewhere"), asyncio.run(all_evenings(root))


async def all_evenings(root: Path) -> list[Accounted]:
    told: list[Accounted] = []
    story = (("HO 12", first_evening), ("HO 12", second_evening), ("HO 13", colour_roll), ("HO slides", slides))
    for number, (label, work) in enumerate(story):
        async with evening(root, label, 1 + 300 * number) as at:
            await work(at)
        told += at.accounts
        if number == 0:  # the next evening is on another machine, with a copy of the folder
            root = root.rename(root.with_name("elsewhere"))
    return told


@contextlib.asynccontextmanager
async def ledger_of(root: Path) -> AsyncIterator[Ledger]:
    ledger = await Ledger.open(root, RealClock().now)
    try:
        yield ledger
    finally:
        await ledger.close()


def takes(state: State) -> list[Take]:
    return [take for roll in state.rolls.values() for take in roll.takes.values()]


async def test_the_tally_comes_out_even(done: tuple[Path, list[Accounted]]) -> None:
    async with ledger_of(done[0]) as ledger:
        state = ledger.state
        counts = {roll.roll.label: tally(roll) for roll in state.rolls.values()}
        assert {label: (c.pictures, c.unexposed, c.missing, c.suspect) for label, c in counts.items()} == {
            "HO 12": (7, 1, 0, 0), "HO 13": (3, 1, 0, 0), "HO slides": (2, 0, 0, 0),
        }  # fmt: skip
        assert counts["HO 12"].retaken >= 1
        dense = state.rolls["r-0003"].frames
        assert [len(frame.keeper) for frame in dense.values()] == [1, 2]
        assert state.working is None
        files = [take for take in takes(state) if take.path]
        assert all(take.verified for take in files), "read back before anybody had to ask"


async def test_the_blank_is_where_the_film_has_it(done: tuple[Path, list[Accounted]]) -> None:
    """The strip was fed end for end: its blank, the 5th frame of the film, was the last one that was fed."""
    async with ledger_of(done[0]) as ledger:
        roll = ledger.state.rolls["r-0001"]
        blanks = [f.frame for f in roll.frames.values() if f.film is Film.UNEXPOSED]
        assert [(roll.strips[f.strip_id].number, f.place) for f in blanks] == [(2, 4)]


async def test_it_was_told_at_the_end_of_strip_roll_and_job(done: tuple[Path, list[Accounted]]) -> None:
    told = done[1]
    last = {(one.level, one.roll_id): one.account.even for one in told if one.level != "strip"}
    rolls = {("roll", roll_id): True for roll_id in ("r-0001", "r-0002", "r-0003")}
    assert last == {**rolls, ("job", ""): True}
    assert {one.account.of for one in told if one.level == "strip"} >= {"Strip 1", "Strip 2"}


async def test_after_a_power_cut_at_any_event_each_frame_counts_once(done: tuple[Path, list[Accounted]]) -> None:
    """Whatever the last committed event is: a frame is one of five things, and none is in two rolls."""
    async with ledger_of(done[0]) as ledger:
        events = await ledger.read()
    state = State()
    for committed in events:
        state = reduce(state, committed)
        frames = [f for roll in state.rolls.values() for f in roll.frames.values()]
        assert len({f.frame.frame_id for f in frames}) == len(frames) == state.frame_count
        for roll in state.rolls.values():
            count = tally(roll)
            assert count.counted + count.skipped + count.open == len(roll.frames)
            assert all(kind_of(f) for f in roll.frames.values())
    assert fold(events) == state


def test_the_folders_need_no_rigd(done: tuple[Path, list[Accounted]]) -> None:
    for folder in ("HO_12", "HO_13", "HO_slides"):
        place = done[0] / folder
        command = ["sha256sum", "--check", "--strict", "--quiet", paths.MANIFEST]
        checked = subprocess.run(command, cwd=place, capture_output=True, text=True, check=False)
        assert (checked.returncode, checked.stdout) == (0, "")
        listed = (place / paths.MANIFEST).read_text()
        assert all(f"  {raw.name}\n" in listed for raw in place.glob("*.dng"))
        assert {p.stem for p in place.glob("*.xmp")} == {p.stem for p in place.glob("*.dng")}


async def test_on_another_machine_without_the_ledger_it_is_the_same_job(
    done: tuple[Path, list[Accounted]], tmp_path: Path
) -> None:
    async with ledger_of(done[0]) as ledger:
        before: dict[str, Tally] = {i: tally(roll) for i, roll in ledger.state.rolls.items()}
    shutil.copytree(done[0], tmp_path / "job")
    paths.ledger_file(tmp_path / "job").unlink()
    await rebuild(tmp_path / "job", RealClock())
    async with ledger_of(tmp_path / "job") as ledger:
        assert {i: tally(roll) for i, roll in ledger.state.rolls.items()} == before
        assert (await ledger.look.job()).closed == 3


async def test_the_count_of_a_roll_reads_like_its_film(done: tuple[Path, list[Accounted]]) -> None:
    async with evening(done[0], "HO 12", 2000) as at:
        found = await at.verbs.do(counting.ROLL, OfRoll("HO 12"))
        assert [(f.number, f.kind) for f in found.frames] == [
            (n, "unexposed" if n == 5 else "picture") for n in range(1, 9)
        ]  # fmt: skip
        assert (await at.verbs.do(counting.WHOLE, Nothing())).even
        assert (await at.verbs.verify()).bad == 0
