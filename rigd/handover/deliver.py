"""A delivery: rolls made, raws copied, checksums taken, the folder closed as a bag. Repeats only what changed."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterable
from datetime import date
from pathlib import Path
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from rigd.errors import DiskFaulty, DiskFull, RigdError
from rigd.handover import bag, record, words
from rigd.handover.balancing import balanced
from rigd.handover.copying import copy_checked
from rigd.handover.files import put_bytes
from rigd.handover.making import make, tones
from rigd.handover.planning import RollPlan
from rigd.handover.sheet import SHEET, draw_sheet, sheet_key
from rigd.handover.slots import Workers, in_thread
from rigd.handover.values import Digests, FrameMade, FramePlan, Three

T = TypeVar("T")
_DISK = (DiskFull, DiskFaulty)


class Progress(Struct, frozen=True):
    """How far it has come: `step` is `tones`, `frames`, `raws`, `checksums` or `done`; frames `made` now, taken over
    (`kept`), `failed`, of `frames`."""

    step: str
    frames: int
    made: int = 0
    kept: int = 0
    failed: int = 0


class Trouble(Struct, frozen=True):
    """A frame or file that could not be delivered, and what to do."""

    what: str
    why: str


class Delivered(Struct, frozen=True):
    """What lies in the folder now. `troubles`: what is missing; the folder is a bag only where there are none."""

    folder: str
    frames: int
    made: int
    kept: int
    files: int
    bytes: int
    troubles: tuple[Trouble, ...]

    @property
    def whole(self) -> bool:
        return not self.troubles


class Delivery:
    """One run. `pause` and `go_on` act between frames; cancelling the task that runs it leaves a folder that the next
    run goes on with."""

    def __init__(
        self, job_id: str, title: str, rolls: tuple[RollPlan, ...], root: Path, out: Path, workers: Workers,
        tell: Callable[[Progress], None] = lambda progress: None,
    ) -> None:  # fmt: skip
        self._title, self._rolls, self._root, self._out = title, rolls, root, out
        self._job_id, self.workers, self._tell = job_id, workers, tell
        self._going = asyncio.Event()
        self._going.set()
        self._saving = asyncio.Lock()
        self.progress = Progress("tones", sum(len(roll.frames) for roll in rolls))
        self._troubles: list[Trouble] = []

    def pause(self) -> None:
        """Begin no further frame."""
        self._going.clear()

    def go_on(self) -> None:
        self._going.set()

    async def run(self, today: date) -> Delivered:
        """Deliver.

        Raises:
            Busy: another run writes there. InputError: the folder is not ours. DiskFull, DiskFaulty: its disk failed;
            what was made stays.
        """
        with record.alone(self._out):
            try:
                return await self._deliver(today)
            finally:
                # Whoever comes next must find nobody writing: what was in hand is finished first.
                await self.workers.close()

    async def _deliver(self, today: date) -> Delivered:
        self._record = await in_thread(record.load, self._out, self._job_id)
        await self._save()  # from now on the folder is ours
        await in_thread(bag.open_again, self._out)
        for roll in self._rolls:
            await self._frames(roll)
            await self._papers(roll)
            await self._sheet(roll)
        self._note(step="raws")
        await self._raws()
        await in_thread(self._clear_away)
        self._note(step="checksums")
        payload = await self._checksums()
        await self._save()
        if not self._troubles:
            await in_thread(bag.write_tags, self._out, payload, words.bag_info(self._title, today))
        self._note(step="done")
        size = sum(one.bytes for one in payload.values())
        p = self.progress
        return Delivered(str(self._out), p.frames, p.made, p.kept, len(payload), size, tuple(self._troubles))

    # -- frames --------------------------------------------------------------------------------------------------

    async def _frames(self, roll: RollPlan) -> None:
        """Measure a roll's tones, balance it, make what is not there yet."""
        found: dict[str, list[Three]] = {}
        await self._each(roll.frames, lambda slot, plan: self._tones(slot, plan, found))
        self._note(step="frames")
        folder = self._payload(roll)
        plans = balanced(roll.frames, found, roll.within_stops)
        await self._each(plans, lambda slot, plan: self._frame_or_not(slot, plan, folder))

    async def _frame_or_not(self, slot: int, plan: FramePlan, folder: Path) -> None:
        if not await self._noting(self._frame(slot, plan, folder)):
            self._note(failed=self.progress.failed + 1)

    async def _tones(self, slot: int, plan: FramePlan, found: dict[str, list[Three]]) -> None:
        key = f"{plan.sources[0].sha256} {plan.clear_1s} {plan.lie.corners}"
        if key not in self._record.tones:
            self._record.tones[key] = await self.workers.run(slot, tones, plan, self._root)
        found[plan.frame_id] = self._record.tones[key]

    async def _frame(self, slot: int, plan: FramePlan, folder: Path) -> None:
        before = self._record.made.get(plan.frame_id)
        if before is not None and before.key == plan.key() and self._there(before, folder):
            self._note(kept=self.progress.kept + 1)
            return
        self._record.made[plan.frame_id] = await self.workers.run(slot, make, plan, self._root, folder)
        await self._save()
        self._note(made=self.progress.made + 1)

    @staticmethod
    def _there(made: FrameMade, folder: Path) -> bool:
        files = [(folder / one.path, one.bytes) for one in made.files]
        return all(path.is_file() and path.stat().st_size == size for path, size in files)

    async def _each(self, things: Iterable[T], work: Callable[[int, T], Awaitable[None]]) -> None:
        """Everything in one of the slots. What fails is noted, and the rest goes on; a failing disk ends it all."""
        waiting = list(reversed(list(things)))

        async def slot_loop(slot: int) -> None:
            while waiting:
                await self._going.wait()
                if waiting:
                    await self._noting(work(slot, waiting.pop()))

        try:
            async with asyncio.TaskGroup() as group:
                for slot in range(self.workers.size):
                    group.create_task(slot_loop(slot))
        except* _DISK as failed:
            raise failed.exceptions[0] from None

    async def _noting(self, work: Awaitable[None]) -> bool:
        """False if it failed for a reason of its own, which is noted."""
        try:
            await work
        except _DISK:
            raise
        except RigdError as error:
            trouble = Trouble(error.what, f"{error.why} {error.remedy}".strip())
            if trouble not in self._troubles:
                self._troubles.append(trouble)
            return False
        return True

    # -- everything else -----------------------------------------------------------------------------------------

    async def _papers(self, roll: RollPlan) -> None:
        folder = self._payload(roll)
        for path, body in {**roll.papers, "README.txt": words.readme(self._title, roll)}.items():
            await in_thread(put_bytes, folder, path, body)

    async def _sheet(self, roll: RollPlan) -> None:
        """The contact sheet, drawn of the proofs that are there, if any of them or what is told changed."""
        made = [self._record.made[f.frame_id] for f in roll.frames if f.frame_id in self._record.made]
        key = sheet_key(made, roll)
        if self._record.sheets.get(roll.roll_id) != key:
            await self._noting(self._drawn(roll, made, key))

    async def _drawn(self, roll: RollPlan, made: list[FrameMade], key: str) -> None:
        await self.workers.run(0, draw_sheet, roll, made, self._payload(roll))
        self._record.sheets[roll.roll_id] = key

    def _clear_away(self) -> None:
        """Files of an earlier run that this one has under another name, or not at all. Nobody else's are touched."""
        wanted = {f"{bag.PAYLOAD}/{roll.folder}/{path}" for roll in self._rolls for path in self._expected(roll)}
        for path in set(self._record.ours) - wanted:
            (self._out / path).unlink(missing_ok=True)
        self._record.ours = sorted(wanted)

    def _expected(self, roll: RollPlan) -> set[str]:
        made = [self._record.made[f.frame_id] for f in roll.frames if f.frame_id in self._record.made]
        pictures = {one.path for frame in made for one in frame.files}
        sheets = {path.name for path in self._payload(roll).glob(f"{SHEET}*")}
        return pictures | sheets | {raw.to for raw in roll.raws} | {"README.txt", *roll.papers}

    async def _raws(self) -> None:
        for roll, raw in [(one, raw) for one in self._rolls for raw in one.raws]:
            await self._going.wait()
            path = f"{roll.folder}/{raw.to}"
            if not self._unchanged(f"{bag.PAYLOAD}/{path}", raw.source.sha256):
                copied = in_thread(copy_checked, self._root / raw.source.path, self._out / bag.PAYLOAD, path,
                                           raw.source.sha256)  # fmt: skip
                await self._noting(copied)

    def _unchanged(self, path: str, sha256: str) -> bool:
        seen, file = self._record.seen.get(path), self._out / path
        return seen is not None and seen.digests.sha256 == sha256 and self._is_as_seen(file, seen)

    @staticmethod
    def _is_as_seen(file: Path, seen: record.Seen) -> bool:
        try:
            found = file.stat()
        except FileNotFoundError:
            return False
        return (found.st_size, found.st_mtime_ns) == (seen.digests.bytes, seen.changed_ns)

    async def _checksums(self) -> dict[str, Digests]:
        """Both checksums of every file in the payload, read back from the disk where it changed since the last run."""
        known: dict[str, record.Seen] = {}

        async def look(slot: int, file: Path) -> None:
            path = file.relative_to(self._out).as_posix()
            seen = self._record.seen.get(path)
            if seen is None or not self._is_as_seen(file, seen):
                changed = file.stat().st_mtime_ns
                seen = record.Seen(await self.workers.run(slot, bag.digests, file), changed)
            known[path] = seen

        await self._each(await in_thread(bag.payload_files, self._out), look)
        self._record.seen = {path: known[path] for path in sorted(known)}
        return {path: seen.digests for path, seen in self._record.seen.items()}

    async def _save(self) -> None:
        """The record as it is now; encoded at once, since it goes on changing, written beside the daemon's work."""
        async with self._saving:
            body = record.encode(self._record)
            await in_thread(put_bytes, self._out, record.RECORD, body)

    def _payload(self, roll: RollPlan) -> Path:
        return self._out / bag.PAYLOAD / roll.folder

    def _note(self, **changes: object) -> None:
        self.progress = replace(self.progress, **changes)
        self._tell(self.progress)
