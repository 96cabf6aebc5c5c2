"""The program whose calls are recorded: real ledger, real store, a few small takes, each acknowledgement written down.

python power_cut_writer.py JOB_FOLDER ACKNOWLEDGEMENTS
"""

from __future__ import annotations

import asyncio
import os
import random
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rigd.ledger import Ledger
from rigd.model import events as ev
from rigd.model import values as v
from rigd.model.words import Colour, Decision, Film, Purpose, Quality, Tone
from rigd.store import Store
from rigd.store.naming import raw_name

START = datetime(2031, 3, 9, 20, 0, tzinfo=UTC)
TAKES = 4
ROLLS = ("Pier_7", "Pier_8")
STRAY = "IMG_0100.DNG"


def content(take_id: str) -> bytes:
    """What the camera's card holds for a take: the same each time it is fetched."""
    numbers = random.Random(take_id)
    return numbers.randbytes(numbers.randrange(3_000, 20_000))


def fetch(part: Path, take_id: str) -> int:
    """As the camera's worker does: a new file, written in pieces, closed, and no more."""
    left = content(take_id)
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
    while left:
        os.write(descriptor, left[:4096])
        left = left[4096:]
    os.close(descriptor)
    return len(content(take_id))


def final_name(take: v.Take) -> tuple[str, str]:
    """Folder and name of a take's file."""
    number = int(take.take_id[2:])
    folder = ROLLS[number > TAKES // 2]
    return folder, raw_name(folder, 1, number, 1, Purpose.WHOLE, "dng")


class Writer:
    """Goes through a story and writes down how far it was acknowledged."""

    def __init__(self, ledger: Ledger, store: Store, acknowledgements: int) -> None:
        self._ledger = ledger
        self._store = store
        self._told = acknowledgements

    async def append(self, *events: ev.AnyEvent) -> None:
        committed = await self._ledger.append(*events)
        os.write(self._told, b"%d\n" % committed[-1].seq)

    async def story(self) -> None:
        await self.append(ev.JobOpened(v.Job("j-1", "Harbour office")))
        for number, folder in enumerate(ROLLS, 1):
            roll_id, strip_id = f"r-{number}", f"s-{number}"
            await self.append(ev.RollPlanned(v.Roll(roll_id, folder, folder, "135", Tone.NEGATIVE, Colour.MONO)))
            await self.append(ev.RollOpened(roll_id), ev.StripLoaded(v.Strip(strip_id, roll_id, 1, 6)))
            for n in range(1, TAKES + 1):
                if (n > TAKES // 2) == (number == 2):
                    await self.take(f"t-{n}", v.Frame(f"f-{n}", roll_id, strip_id, n))
            await self.append(ev.RollClosed(roll_id))
            await self.list_roll(roll_id, folder)
            await self._ledger.checkpoint()
        await self.stray()

    async def take(self, take_id: str, frame: v.Frame) -> None:
        await self.append(ev.FramePlaced(frame))
        want = v.Exposure(1 / 60, "1/60")
        await self.append(ev.ExposureIntended(take_id, frame.frame_id, Purpose.WHOLE, 1, want))
        size = len(content(take_id))
        await self.append(ev.Exposed(take_id, 0.3, (v.CardFile("/DCIM", f"{take_id}.DNG", size),)))
        take = self._ledger.state.take(take_id)
        assert take is not None
        folder, name = final_name(take)
        part = self._store.part_path(folder, take_id)
        await self.append(ev.Fetched(take_id, str(part.relative_to(self._store.root)), fetch(part, take_id)))
        kept = await asyncio.to_thread(self._store.secure, part, folder, name, size)
        await self.append(ev.Stored(take_id, kept.path, kept.sha256, kept.bytes))
        await self.append(
            ev.Judged(take_id, v.Verdict(Film.PICTURE, Quality.GOOD, "good"), Decision.KEEP),
            ev.KeeperChosen(frame.frame_id, (take_id,), Film.PICTURE),
        )
        await self.append(ev.Advanced(frame.frame_id, frame.place + 1))

    async def list_roll(self, roll_id: str, folder: str) -> None:
        takes = self._ledger.state.rolls[roll_id].takes.values()
        for take in takes:
            await asyncio.to_thread(self._store.verify, take.path, take.sha256, take.bytes)
            await self.append(ev.Verified(take.take_id))
        self._store.write_manifest(folder, [(take.sha256, take.path) for take in takes])

    async def stray(self) -> None:
        part = self._store.part_path("set-up", "stray-1")
        fetch(part, "stray-1")
        path = self._store.set_aside(part, STRAY, "nobody asked for it")
        await self.append(ev.Unclaimed(path, STRAY, len(content("stray-1")), "nobody asked for it"))


async def main(root: Path, acknowledgements: Path) -> None:
    seconds = iter(range(1 << 20))
    told = os.open(acknowledgements, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    ledger = await Ledger.open(root, lambda: START + timedelta(seconds=next(seconds)))
    try:
        await Writer(ledger, Store(root), told).story()
    finally:
        await ledger.close()


if __name__ == "__main__":
    asyncio.run(main(Path(sys.argv[1]), Path(sys.argv[2])))
