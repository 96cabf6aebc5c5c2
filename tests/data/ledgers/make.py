"""Makes the ledger of the schema number that this rigd writes: run once, when a number is new, and keep the file.

    python tests/data/ledgers/make.py

The files of older numbers are never made again: they are what that rigd really wrote.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[2]))

from rigd.ledger import Ledger  # noqa: E402
from rigd.ledger.schema import STEPS  # noqa: E402
from rigd.model import events as ev  # noqa: E402
from rigd.model import events_later as late  # noqa: E402
from rigd.model import values as v  # noqa: E402
from rigd.model.words import Colour, Decision, Film, Purpose, Quality, Stage, Tone  # noqa: E402

START = datetime(2031, 3, 9, 20, 0, tzinfo=UTC)
WANT = v.Exposure(1 / 60, "1/60", 8.0, 100)


def take(number: int, frame_id: str | None, film: Film) -> list[ev.AnyEvent]:
    take_id, path = f"t-{number:06d}", f"Pier_7/Pier_7-001-{number:03d}-01.dng"
    level = v.Level((-6.1, -6.0, -6.4), (-0.9, -1.1, -1.6), -2.2, 0.02, 0.1)
    return [
        ev.ExposureIntended(take_id, frame_id, Purpose.WHOLE if frame_id else Purpose.FLAT, 1, WANT),
        ev.Exposed(take_id, 0.31, (v.CardFile("/store_00010001/DCIM/100RIG", f"IMG_{number:04d}.DNG", 4321),)),
        ev.Fetched(take_id, f"Pier_7/.{take_id}.part", 4321),
        ev.Stored(take_id, path, f"{number:064x}", 4321),
        ev.Judged(take_id, v.Verdict(film, Quality.GOOD, "As it should be.", level, {"still_um": 0.8}), Decision.KEEP),
        ev.Verified(take_id),
    ]


def story() -> list[ev.AnyEvent]:
    """One of each kind of event, in an order that could happen."""
    roll = v.Roll("r-1", "Pier 7", "Pier_7", "135", Tone.NEGATIVE, Colour.MONO, (3, 4), 6)
    frames = [v.Frame(f"f-{n}", "r-1", "s-1", n) for n in (1, 2, 3)]
    return [
        ev.JobOpened(v.Job("j-1", "Harbour office, survey negatives")),
        ev.SetupDescribed(v.Setup("u-1", "strip holder", "macro 60", 8.0, 100, 180.0)),
        ev.CameraJoined("Body", "0001", 1.5),
        *take(1, None, Film.PICTURE)[:4],
        ev.LampMeasured("u-1", (4.0, 4.2, 3.9), 8.0, 100),
        ev.RollPlanned(roll),
        ev.RollChanged(roll),
        ev.RollOpened("r-1"),
        ev.StripLoaded(v.Strip("s-1", "r-1", 1, 6)),
        ev.FramePlaced(frames[0]),
        ev.Triggered("f-1", "pedal"),
        ev.Settled("f-1", 0.5),
        *take(2, "f-1", Film.PICTURE),
        ev.KeeperChosen("f-1", ("t-000002",), Film.PICTURE),
        ev.MoveIntended("f-1", 38.0),
        ev.Advanced("f-1", 2),
        ev.FramePlaced(frames[1]),
        *take(3, "f-2", Film.UNEXPOSED),
        ev.FrameMarked("f-2", Film.UNEXPOSED, "operator"),
        ev.Damaged("t-000003", "other checksum"),
        ev.FramePlaced(frames[2]),
        ev.ExposureIntended("t-000004", "f-3", Purpose.WHOLE, 1, WANT),
        ev.TakeLost("t-000004", "The shutter never opened."),
        ev.FrameSkipped("f-3"),
        ev.FrameRecalled("f-1"),
        ev.Unclaimed("unclaimed/IMG_0009.DNG", "IMG_0009.DNG", 4321, "It arrived without a trigger."),
        ev.Troubled("disk-full", "The disk is full.", "", "Make room."),
        ev.TroubleOver(),
        ev.Paused("page"),
        ev.Resumed("page"),
        *second_thoughts(),
        ev.RollClosed("r-1"),
    ]


def second_thoughts() -> list[ev.AnyEvent]:
    """One of each kind that came with number 2; the counts stay as they are."""
    was, strip = v.Strip("s-1", "r-1", 1, 6), v.Strip("s-1", "r-1", 2, 6, turn=180)
    moved = v.Frame("f-3", "r-1", "s-1", 4)
    stray = v.Take("t-000005", "f-3", Purpose.WHOLE, 2, WANT, Stage.LOST, path="Pier_7/b.dng", sha256="1" * 64, bytes=9)
    return [
        ev.RollPlanned(v.Roll("r-2", "Pier 8", "Pier_8", "135", Tone.NEGATIVE, Colour.MONO)),
        late.RollDropped("r-2", "planned twice", "operator"),
        late.BaseHeeded("r-1", "reads SAFETY on its edge", "operator"),
        late.StripsChanged((strip,), (was,), "turned end for end", "operator"),
        late.FramesMoved((moved,), (v.Frame("f-3", "r-1", "s-1", 3),), "a place was left out", "operator"),
        late.EdgesRead({"f-1": "12", "f-2": "12A"}, "operator"),
        late.FramesMarked(("f-2",), Film.FOGGED, "operator"),
        late.MarkUndone("f-2", "operator"),
        late.FramesDoubted(("f-1",), "the rig had drifted"),
        late.FramesWanted(("f-1",), "soft", "operator"),
        late.FramesAccepted(("f-1",), "operator"),
        late.FramesDescribed({"f-1": v.About(title="Quay 4")}, "operator"),
        late.SetupChecked(True, "focus"),
        late.StrayAssigned("unclaimed/IMG_0009.DNG", stray, "operator"),
        late.StrayDismissed("unclaimed/IMG_0010.DNG", "a test", "operator"),
        late.Copied("t-000002", "second"),
        late.CardCleared("t-000002", "IMG_0002.DNG", "operator"),
        late.Rebuilt(2, "never, but it could be"),
        ev.FrameSkipped("f-3"),
    ]


async def main() -> None:
    seconds = iter(range(1 << 20))
    with tempfile.TemporaryDirectory() as folder:
        ledger = await Ledger.open(Path(folder), lambda: START + timedelta(seconds=next(seconds)))
        try:
            for event in story():
                await ledger.append(event)
            await ledger.checkpoint()
            await ledger.backup(HERE / f"v{len(STEPS)}.sqlite")
        finally:
            await ledger.close()


if __name__ == "__main__":
    asyncio.run(main())
