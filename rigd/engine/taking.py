"""One take, from the intent to the judgement: each step appends one event, and each can be gone on from after a crash.

    intended -> exposed -> fetched -> stored -> judged
"""

from __future__ import annotations

import asyncio
from pathlib import Path

from rigd.engine.cardfiles import unclaimed_files
from rigd.engine.judging import Judging
from rigd.engine.rig import Rig
from rigd.engine.steps import Closed, InSpool, Safe
from rigd.engine.watch_movement import Movement
from rigd.errors import CameraLost, RawUnreadable, StoreError
from rigd.model.events import Exposed, ExposureIntended, Fetched, Stored, TakeLost, Unclaimed
from rigd.model.state import RollState
from rigd.model.values import CardFile, Exposure, Strip, Take
from rigd.model.words import Purpose, Stage
from rigd.ports import Shot
from rigd.store.naming import raw_name

# Takes without a frame (open gate, dark, base) lie in a folder of their own.
SETUP_FOLDER = "set-up"


class Taking:
    """Makes takes with one rig."""

    def __init__(self, rig: Rig, judging: Judging) -> None:
        self._rig = rig
        self._judging = judging

    async def expose(
        self, frame_id: str | None, purpose: Purpose, want: Exposure, strip: Strip | None = None
    ) -> Take:
        """Set the camera, commit the intent, release the shutter, commit what came of it.

        Args:
            strip: of a label take, the strip (or the roll, as strip 0) whose label it is.

        Raises:
            CameraLost: the shot is unknown; the take stays `intended` until it is reconciled with the card.
        """
        rig = self._rig
        in_force = rig.in_force = await rig.camera.apply(want)
        number = self._next_number(frame_id, strip)
        take_id = f"t-{rig.state.take_count + 1:06d}"
        rig.phase("expose")
        of = (strip.roll_id, strip.strip_id or None) if strip else (None, None)
        await rig.hub.append(ExposureIntended(take_id, frame_id, purpose, number, in_force, *of))
        shot = await self._shoot(take_id)
        await rig.hub.append(Exposed(take_id, shot.seconds, shot.files))
        await self._set_strays_aside(shot.strays)
        return self._take(take_id)

    async def finish(self, take: Take) -> Take:
        """Bring a take from wherever it stands to `judged`. The stages before are committed already.

        Raises:
            CameraLost, StoreError: the take stays at its stage and can be finished later.
        """
        if take.stage in (Stage.EXPOSED, Stage.FETCHED):
            await self.keep(await self.bring(take), take)
        elif take.stage is Stage.STORED and take.frame_id is not None:
            await self._judging.judge(Safe(take.take_id, self._rig.store.root / take.path, take.want))
        return self._take(take.take_id)

    async def set_spool_aside(self, take: Take) -> None:
        """The card has a fetched file no more, and after a power cut the spool's copy can be torn at its full size:
        it is kept apart, for somebody to look at, and belongs to no frame."""
        part = self._rig.store.part_path(self.folder(take.take_id), take.take_id)
        if not part.exists():
            return
        name, size = take.files[0].name, part.stat().st_size
        path = await asyncio.to_thread(self._rig.store.set_aside, part, name, f"left in the spool by {take.take_id}")
        await self._rig.hub.append(Unclaimed(path, name, size, f"Fetched for {take.take_id}, perhaps not whole."))

    async def bring(self, take: Take) -> InSpool:
        """Fetch the file of an exposed take into the spool. Raises CameraLost."""
        return await self._fetch(Closed(take.take_id, take.files))

    async def keep(self, part: InSpool, take: Take, moved: Movement | None = None) -> Take:
        """From the spool to the judgement: hash, make durable, decode and judge, commit; the take as it is then.
        `moved` tells what moved during the exposure: it is asked when the file has been judged."""
        if take.frame_id is None:
            await self._store(part, take)
        else:
            await self._store_and_judge(part, moved)
        return self._take(take.take_id)

    async def flat(self, want: Exposure) -> Take:
        """One exposure of the open gate, stored and not judged."""
        return await self.finish(await self.expose(None, Purpose.FLAT, want))

    async def label(self, want: Exposure, strip: Strip) -> Take:
        """One exposure of the label of a strip, its sleeve or its mount (strip 0: its roll), stored and not judged."""
        return await self.finish(await self.expose(None, Purpose.LABEL, want, strip))

    async def lose(self, take_id: str, why: str) -> None:
        """Record that an intended exposure left no file."""
        await self._rig.hub.append(TakeLost(take_id, why))

    # -- steps ---------------------------------------------------------------------------------------------------

    async def _shoot(self, take_id: str) -> Shot:
        shot = await self._rig.camera.shoot(1)
        if not shot.files:
            raise CameraLost(
                "The camera released, but no file arrived.",
                "The event of the new file is missing.",
                "Press Recover: the card is searched for it.",
            )
        return shot

    async def _fetch(self, closed: Closed) -> InSpool:
        rig = self._rig
        rig.phase("fetch")
        part = await asyncio.to_thread(rig.store.part_path, self.folder(closed.take_id), closed.take_id)
        # What an interrupted fetch left is worth nothing while the card has the file.
        await asyncio.to_thread(rig.store.erase_part, part)
        try:
            size = await rig.camera.fetch(closed.files[0], part)
        except Exception:
            await asyncio.to_thread(rig.store.erase_part, part)
            raise
        await rig.hub.append(Fetched(closed.take_id, str(part.relative_to(rig.store.root)), size))
        return InSpool(closed.take_id, part, size)

    async def _store_and_judge(self, spooled: InSpool, moved: Movement | None) -> None:
        """Hash and make durable while the raw is decoded and judged beside it. Who wants to hear the ruling hears it at
        once; the events keep their order."""
        take = self._take(spooled.take_id)
        storing = asyncio.create_task(self._store(spooled, take), name=f"store {take.take_id}")
        try:
            looked = await self._judging.look(take, spooled.part)
            weighed = None if isinstance(looked, RawUnreadable) else await self._judging.weigh(take, looked, moved)
        except asyncio.CancelledError:
            storing.cancel()
            raise
        finally:
            await asyncio.gather(storing, return_exceptions=True)
        safe = storing.result()
        if weighed is None:
            # The name changed while it was being opened, or it is broken: the final name settles it.
            await self._judging.judge(safe, None, moved)
        else:
            await self._judging.commit(self._take(take.take_id), weighed)

    async def _store(self, spooled: InSpool, take: Take) -> Safe:
        rig = self._rig
        rig.phase("store")
        folder, name = self.folder(take.take_id), self.name(take)
        if f"{folder}/{name}" in {path for _, path in await rig.hub.look.files_in(folder)}:
            # A strip that was renumbered left files under its old number: names are never given twice.
            name = f"{Path(name).stem}-{take.take_id}{Path(name).suffix}"
        try:
            kept = await asyncio.to_thread(rig.store.secure, spooled.part, folder, name, take.files[0].bytes)
        except StoreError:
            await asyncio.to_thread(rig.store.erase_part, spooled.part)
            raise
        await rig.hub.append(Stored(take.take_id, kept.path, kept.sha256, kept.bytes))
        return Safe(take.take_id, rig.store.root / kept.path, take.want)

    async def _set_strays_aside(self, strays: tuple[CardFile, ...]) -> None:
        # The event of a shot that was found on the card after a crash may come late: that file has its take.
        unknown = await unclaimed_files(self._rig.hub, strays) if strays else []
        for number, stray in enumerate(unknown, 1):
            part = self._rig.store.part_path(SETUP_FOLDER, f"stray-{self._rig.state.seq}-{number}")
            await self._rig.camera.fetch(stray, part)
            path = await asyncio.to_thread(self._rig.store.set_aside, part, stray.name, "nobody asked for it")
            await self._rig.hub.append(Unclaimed(path, stray.name, stray.bytes or 0, "It arrived without a trigger."))

    # -- names ---------------------------------------------------------------------------------------------------

    def folder(self, take_id: str) -> str:
        """The folder (relative to the job's) that a take's file lies in."""
        roll = self._roll(self._take(take_id))
        return roll.roll.folder if roll else SETUP_FOLDER

    def name(self, take: Take) -> str:
        """The file's own name: roll, strip, place and number of the take; never the camera's."""
        extension = Path(take.files[0].name).suffix.lower() or ".raw"
        roll = self._roll(take)
        if roll is None:
            return f"{take.purpose}-{take.take_id}{extension}"
        frame = roll.frames[take.frame_id].frame if take.frame_id else None
        strip = roll.strips.get(frame.strip_id if frame else take.strip_id or "")
        number, place = strip.number if strip else 0, frame.place if frame else 0
        return raw_name(roll.roll.folder, number, place, take.number, take.purpose, extension)

    def _roll(self, take: Take) -> RollState | None:
        state = self._rig.state
        return state.roll_of(take.frame_id) if take.frame_id else state.rolls.get(take.roll_id or "")

    def _next_number(self, frame_id: str | None, strip: Strip | None) -> int:
        state = self._rig.state
        roll = state.roll_of(frame_id) if frame_id else state.rolls.get(strip.roll_id) if strip else None
        if roll is None:
            return len(state.loose) + 1
        if frame_id:
            return len(roll.frames[frame_id].takes) + 1
        return 1 + sum(t.frame_id is None for t in roll.takes.values())

    def _take(self, take_id: str) -> Take:
        take = self._rig.state.take(take_id)
        assert take is not None, f"take {take_id} was committed and must be known"
        return take
