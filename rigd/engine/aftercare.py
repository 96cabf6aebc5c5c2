"""What can wait until the film moves on: reading files back, and the roll's checksum list. Never in a cycle's way."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator

from rigd.engine.rig import Rig
from rigd.errors import StoreError
from rigd.model.events import Damaged, Judged, Verified
from rigd.model.state import RollState
from rigd.model.values import Take
from rigd.model.words import Stage


class Aftercare:
    """Works off every stored take that has not been read back yet, one at a time, while the engine is idle."""

    def __init__(self, rig: Rig, idle: Callable[[], bool]) -> None:
        self._rig = rig
        self._idle = idle
        self._done: dict[str, int] = {}
        self._one_at_a_time = asyncio.Lock()

    async def run(self) -> None:
        """Runs until it is cancelled; wakes with each committed event."""
        listener = self._rig.hub.subscribe()
        try:
            await self.catch_up()
            async for item in listener:
                if isinstance(getattr(item, "event", None), Judged) or self._idle():
                    await self.catch_up()
        finally:
            self._rig.hub.leave(listener)

    async def catch_up(self) -> None:
        """Verify all that is due, then write the lists of the rolls that changed."""
        async with self._one_at_a_time:
            for take in tuple(_due(self._rig)):
                await self._verify(take)
            for roll in self._rig.state.rolls.values():
                await self._list(roll)

    async def _verify(self, take: Take) -> None:
        try:
            await asyncio.to_thread(self._rig.store.verify, take.path, take.sha256, take.bytes)
        except StoreError as error:
            await self._rig.hub.append(Damaged(take.take_id, str(error)))
        else:
            await self._rig.hub.append(Verified(take.take_id))

    async def _list(self, roll: RollState) -> None:
        entries = [(t.sha256, t.path) for t in roll.takes.values() if t.path]
        if entries and self._done.get(roll.roll.roll_id) != len(entries):
            await asyncio.to_thread(self._rig.store.write_manifest, roll.roll.folder, entries)
            self._done[roll.roll.roll_id] = len(entries)


def _due(rig: Rig) -> Iterator[Take]:
    state = rig.state
    takes = [*state.loose.values(), *(t for r in state.rolls.values() for t in r.takes.values())]
    return (t for t in takes if t.stage in (Stage.STORED, Stage.JUDGED) and not t.verified and not t.lost_why)
