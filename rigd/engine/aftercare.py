"""What can wait until the film moves on: reading files back, and the roll's checksum list. Never in a cycle's way."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable

from rigd.engine.rig import Rig
from rigd.errors import StoreError
from rigd.model.events import Damaged, Stored, Verified
from rigd.model.values import Take
from rigd.model.words import Stage


class Aftercare:
    """Works off every stored take that has not been read back yet, one at a time, while the engine is idle.

    The whole job is looked through once, at the start; after that only what is stored anew.
    """

    def __init__(self, rig: Rig, idle: Callable[[], bool]) -> None:
        self._rig = rig
        self._idle = idle
        self._due: deque[str] = deque(_unread(rig))
        self._listed: dict[str, int] = {}
        self._one_at_a_time = asyncio.Lock()

    async def run(self) -> None:
        """Runs until it is cancelled; wakes with whatever happens."""
        listener = self._rig.hub.subscribe()
        try:
            await self._work(self._idle)
            async for item in listener:
                event = getattr(item, "event", None)
                if isinstance(event, Stored):
                    self._due.append(event.take_id)
                await self._work(self._idle)
        finally:
            self._rig.hub.leave(listener)

    async def catch_up(self) -> None:
        """Work off all that is due now, whether the engine is idle or not."""
        self._due.extend(take_id for take_id in _unread(self._rig) if take_id not in self._due)
        await self._work(lambda: True)

    async def _work(self, may: Callable[[], bool]) -> None:
        async with self._one_at_a_time:
            while self._due and may():
                take = self._rig.state.take(self._due.popleft())
                if take is not None and not take.verified:
                    await self._verify(take)
                    await self._list(take)

    async def _verify(self, take: Take) -> None:
        try:
            await asyncio.to_thread(self._rig.store.verify, take.path, take.sha256, take.bytes)
        except StoreError as error:
            await self._rig.hub.append(Damaged(take.take_id, str(error)))
        else:
            await self._rig.hub.append(Verified(take.take_id))

    async def _list(self, take: Take) -> None:
        """Write the checksum list of the take's roll, if it grew."""
        roll = self._rig.state.roll_of(take.frame_id) if take.frame_id else None
        if roll is None:
            return
        entries = [(t.sha256, t.path) for t in roll.takes.values() if t.path]
        if self._listed.get(roll.roll.roll_id) != len(entries):
            await asyncio.to_thread(self._rig.store.write_manifest, roll.roll.folder, entries)
            self._listed[roll.roll.roll_id] = len(entries)


def _unread(rig: Rig) -> list[str]:
    state = rig.state
    takes = [*state.loose.values(), *(t for r in state.rolls.values() for t in r.takes.values())]
    stored = (t for t in takes if t.stage in (Stage.STORED, Stage.JUDGED))
    return [t.take_id for t in stored if not t.verified and not t.lost_why]
