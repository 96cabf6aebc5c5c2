"""The way of one frame: settle, take, judge, and again while the policy says so."""

from __future__ import annotations

from rigd.engine.judging import Judging
from rigd.engine.places import placing
from rigd.engine.policy import first_exposure
from rigd.engine.recovery import Recovery
from rigd.engine.rig import Rig
from rigd.engine.settle import settle
from rigd.engine.steps import Order, Placed
from rigd.engine.taking import Taking
from rigd.errors import CameraLost, StaleCommand
from rigd.model.events import Triggered
from rigd.model.values import Exposure, Take
from rigd.model.words import Decision, Purpose, Quality, Stage


class Cycle:
    """Runs one order at a time. `halted` is asked before each further exposure: stop and pause act there."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self.judging = Judging(rig)
        self.taking = Taking(rig, self.judging)
        self.recovery = Recovery(rig, self.taking)
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
        trigger = Triggered(found.placed.frame.frame_id, order.source, order.purpose, order.nonce)
        self.judging.cycle_from = state.take_count
        await self._rig.hub.append(*found.events, trigger)
        return found.placed

    async def frame(self, placed: Placed) -> None:
        """Take the frame until it is kept or somebody is needed. Errors leave the ledger true and go up."""
        rig = self._rig
        want = first_exposure(
            rig.state.next_shutter_s, rig.first_s, rig.joined().shutters, rig.limits, rig.f_number, rig.iso
        )
        await settle(rig, placed)
        while True:
            judged = await self._one_take(placed, want)
            if judged is None or judged.decision is not Decision.RETAKE or self.halted:
                return
            want = self._next(judged)
            if judged.verdict and judged.verdict.take is Quality.SOFT:
                await settle(rig, placed)

    async def _one_take(self, placed: Placed, want: Exposure) -> Take | None:
        """One exposure brought to its judgement; a camera that is lost on the way is won back once."""
        try:
            take = await self.taking.expose(placed.frame.frame_id, Purpose.WHOLE, want)
            return await self.taking.finish(take)
        except CameraLost as lost:
            self._rig.phase("reconnect")
            await self.recovery.rejoin()
            take_id = self._rig.state.working
            found = await self.recovery.reconcile() if take_id else None
            if found is None or found.stage is not Stage.JUDGED:
                raise lost
            return found

    def _next(self, judged: Take) -> Exposure:
        rig = self._rig
        carried = rig.state.next_shutter_s
        same = judged.verdict is not None and judged.verdict.take in (Quality.SOFT, Quality.STALE, Quality.SUSPECT)
        wanted = judged.want.shutter_s if same or carried is None else carried
        return first_exposure(wanted, rig.first_s, rig.joined().shutters, rig.limits, rig.f_number, rig.iso)
