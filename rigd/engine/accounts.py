"""Telling, at the end of a strip, a roll and the job, whether it comes out even."""

from __future__ import annotations

from rigd.hub import Accounted, Hub, Subscription
from rigd.model import events as ev
from rigd.model.reconcile import Account, account_job, account_roll, account_strip
from rigd.model.state import RollState


class Accounts:
    """Listens, and tells the account of whatever has just ended."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub

    async def run(self) -> None:
        """Runs until it is cancelled."""
        await self._hub.follow(self._follow)

    async def _follow(self, listener: Subscription) -> None:
        async for item in listener:
            event = getattr(item, "event", None)
            if isinstance(event, ev.Advanced) and event.next_place is None:
                await self._strip(event.frame_id)
            elif isinstance(event, ev.RollClosed):
                await self._roll(event.roll_id)

    async def _strip(self, frame_id: str) -> None:
        roll = await self._hub.look.roll_of(frame_id)
        if roll is not None and frame_id in roll.frames:
            strip = roll.strips[roll.frames[frame_id].frame.strip_id]
            self._tell("strip", roll, account_strip(roll, strip))

    async def _roll(self, roll_id: str) -> None:
        roll = await self._hub.look.roll(roll_id)
        if roll is not None:
            self._tell("roll", roll, account_roll(roll))
        job = await self._hub.look.job()
        if job.closed == job.rolls:
            title = self._hub.state.job.title if self._hub.state.job else "The job"
            self._tell("job", None, account_job(title, job.rolls, job.closed, job.unknown, job.tally))

    def _tell(self, level: str, roll: RollState | None, account: Account) -> None:
        self._hub.notice(Accounted(level, roll.roll.roll_id if roll else "", account))
