"""What can wait until the film moves on: reading files back. Never in a cycle's way."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable

from rigd.engine.rig import Rig
from rigd.errors import StoreError
from rigd.hub import Subscription
from rigd.model.events import Damaged, Stored, Verified
from rigd.model.values import Take


class Aftercare:
    """Works off every stored take that has not been read back yet, one at a time, while the engine is idle.

    What is due of the whole job is asked of the ledger at the start; after that only what is stored anew comes in.
    """

    def __init__(self, rig: Rig, idle: Callable[[], bool]) -> None:
        self._rig = rig
        self._idle = idle
        self._due: deque[str] = deque()
        self._one_at_a_time = asyncio.Lock()

    async def run(self) -> None:
        """Runs until it is cancelled; wakes with whatever happens."""
        await self._rig.hub.follow(self._follow)

    async def _follow(self, listener: Subscription) -> None:
        await self._ask()
        await self._work(self._idle)
        async for item in listener:
            event = getattr(item, "event", None)
            if isinstance(event, Stored):
                self._due.append(event.take_id)
            await self._work(self._idle)

    async def catch_up(self) -> None:
        """Work off all that is due now, whether the engine is idle or not."""
        await self._ask()
        await self._work(lambda: True)

    async def _ask(self) -> None:
        """Put all that was never read back on the list."""
        last, known = "", set(self._due)
        while page := await self._rig.hub.look.unread(last):
            self._due.extend(take_id for take_id in page if take_id not in known)
            last = page[-1]

    async def _work(self, may: Callable[[], bool]) -> None:
        async with self._one_at_a_time:
            while self._due and may():
                take = await self._rig.hub.look.take(self._due.popleft())
                if take is not None and not take.verified:
                    await self._verify(take)

    async def _verify(self, take: Take) -> None:
        try:
            await asyncio.to_thread(self._rig.store.verify, take.path, take.sha256, take.bytes)
        except StoreError as error:
            await self._rig.hub.append(Damaged(take.take_id, str(error)))
        else:
            await self._rig.hub.append(Verified(take.take_id))
