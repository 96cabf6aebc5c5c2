"""The way of one frame: settle, take, judge, and again while the policy says so."""

from __future__ import annotations

import asyncio

from msgspec.structs import replace

from rigd.engine.foresight import Foresight
from rigd.engine.judging import Judging
from rigd.engine.live import LiveFeed
from rigd.engine.places import placing
from rigd.engine.policy import has_moved
from rigd.engine.recovery import Recovery
from rigd.engine.rig import Rig
from rigd.engine.settle import settle
from rigd.engine.steps import InSpool, Order, Placed, Still
from rigd.engine.taking import Taking
from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_movement import Movement, look_again, require_here
from rigd.engine.watch_sight import Seen
from rigd.errors import CameraLost, StaleCommand
from rigd.model.events import Triggered
from rigd.model.values import Exposure, Take
from rigd.model.words import Decision, Purpose, Quality, Stage


class Cycle:
    """Runs one order at a time. `halted` is asked before each further exposure: stop and pause act there."""

    def __init__(self, rig: Rig, live: LiveFeed, eyes: Eyes) -> None:
        self._rig = rig
        self._live = live
        self._eyes = eyes
        self.judging = Judging(rig)
        self.taking = Taking(rig, self.judging)
        self.recovery = Recovery(rig, self.taking)
        self._foresight = Foresight(rig, live, eyes)
        self._lay: tuple[str, Seen | None] = ("", None)
        self.halted = False

    def check(self, order: Order) -> None:
        """Raises StaleCommand if the order means another target than the current one, NotReady if there is none."""
        state = self._rig.state
        placing(state)
        if order.target is not None and order.target != state.target:
            raise StaleCommand(
                "That was meant for another frame.",
                f"It named {order.target}, but {state.target} lies in the gate.",
                "Look at the page and trigger again.",
            )

    async def begin(self, order: Order) -> Placed:
        """Commit the trigger with what it is for; from here on the frame has its permanent id. Raises as `check`."""
        self.check(order)
        state = self._rig.state
        found = placing(state)
        ago = 0.0 if order.pressed is None else round(self._rig.clock.monotonic() - order.pressed, 4)
        trigger = Triggered(found.placed.frame.frame_id, order.source, order.purpose, order.nonce, ago)
        self.judging.cycle_from = state.take_count
        await self._rig.hub.append(*found.events, trigger)
        return found.placed

    async def frame(self, placed: Placed, rested: Seen | None = None) -> None:
        """Take the frame until it is kept or somebody is needed. Errors leave the ledger true and go up.

        Raises:
            NotStill: it does not come to rest, or the film was moved away before the frame was done.
        """
        rig = self._rig
        rig.joined()
        first = await settle(rig, placed, self._eyes, rested)
        want, self.judging.foretold = await self._foresight.first(placed, first)
        await self._until_kept(placed, Purpose.WHOLE, want, first)

    async def second(self, placed: Placed, want: Exposure) -> None:
        """Take the second exposure of a frame. Also raises NotStill where the film was moved since the first."""
        self._rig.joined()
        still = await settle(self._rig, placed, self._eyes)
        frame_id, before = self._lay
        if frame_id == placed.frame.frame_id:
            require_here(self._eyes, before, still.seen)
        await self._until_kept(placed, Purpose.BRACKET, want, still)

    async def _until_kept(self, placed: Placed, purpose: Purpose, want: Exposure, first: Still) -> None:
        rig, still = self._rig, first
        while True:
            self._lay = placed.frame.frame_id, still.seen
            judged, still = await self._one_take(placed, purpose, want, still)
            if judged is None or judged.decision is not Decision.RETAKE or self.halted:
                return
            want, purpose = self._next(judged)
            if judged.verdict and (judged.verdict.take is Quality.SOFT or has_moved(judged.verdict)):
                still = await settle(rig, placed, self._eyes)
            require_here(self._eyes, first.seen, still.seen)

    async def _one_take(
        self, placed: Placed, purpose: Purpose, want: Exposure, still: Still
    ) -> tuple[Take | None, Still]:
        """One exposure brought to its judgement, and the film as it lay afterwards; a camera that is lost on the way is
        won back once."""
        try:
            async with self._live.still():
                take = await self.taking.expose(placed.frame.frame_id, purpose, want)
                part = await self.taking.bring(take)
            return await self._kept(part, take, still)
        except CameraLost as lost:
            self._rig.phase("reconnect")
            async with self._live.still():
                found = await self._found_again()
            if found is None or found.stage is not Stage.JUDGED:
                raise lost
            return found, still

    async def _found_again(self) -> Take | None:
        await self.recovery.rejoin()
        return await self.recovery.reconcile() if self._rig.state.working else None

    async def _kept(self, part: InSpool, take: Take, still: Still) -> tuple[Take, Still]:
        """Store and judge, and see meanwhile whether the film lies where it lay before the exposure."""
        looking = self._look_again(still)
        try:
            judged = await self.taking.keep(part, take, looking)
        finally:
            if looking is not None and not looking.done():
                looking.cancel()
                await asyncio.gather(looking, return_exceptions=True)
        moved = looking.result() if looking is not None else None
        return judged, replace(still, seen=moved.seen) if moved else still

    def _look_again(self, still: Still) -> Movement | None:
        if still.seen is None or still.seen.open or not self._eyes.can_see:
            return None
        work = look_again(self._eyes, still.seen, self._rig.stilling.pace_s)
        return asyncio.create_task(work, name="look again")

    def _next(self, judged: Take) -> tuple[Exposure, Purpose]:
        """The exposure that the policy asked for; after a crash its ruling is gone, and the same is taken again."""
        ruling = self.judging.ruled
        if ruling is None or ruling.shutter is None:
            return judged.want, judged.purpose
        want = replace(judged.want, shutter_s=ruling.shutter.value, shutter=ruling.shutter.label)
        return want, ruling.purpose
