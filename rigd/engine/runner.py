"""The engine: takes one order at a time, keeps the camera, and says plainly when somebody is needed."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Awaitable, Callable

from msgspec.structs import replace

from rigd.engine.cycle import Cycle
from rigd.engine.gate import measure_gate
from rigd.engine.labels import take_label
from rigd.engine.live import LiveFeed
from rigd.engine.rig import Rig
from rigd.engine.steps import Order
from rigd.engine.watch import Watch
from rigd.engine.watch_eyes import Eyes
from rigd.errors import Busy, DiskFull, LedgerError, NotReady, RigdError, StoreError
from rigd.model.events import FrameRecalled, Troubled, TroubleOver
from rigd.model.values import Strip
from rigd.model.words import Decision
from rigd.store import DISARM_FRAMES

log = logging.getLogger("rigd.engine")

Work = Callable[[], Awaitable[None]]


class Runner:
    """Owns the cycle. Orders are accepted or refused at once; nothing queues."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.live = LiveFeed(rig.live, rig.clock)
        self.eyes = Eyes(rig, self.live)
        self.cycle = Cycle(rig, self.live, self.eyes)
        self.watch = Watch(rig, self.eyes, self.trigger, lambda: self.busy)
        self._work: Work | None = None
        self._wake = asyncio.Event()
        self._starting = True
        self._idle = asyncio.Event()

    # -- the life of it --------------------------------------------------------------------------------------

    async def run(self) -> None:
        """Join the camera, finish what was left half done, then carry out orders until cancelled."""
        await self._guarded(self._join)
        self._starting = False
        try:
            while True:
                self._at_rest()
                await self._wake.wait()
                work, self._work = self._work, None
                self._wake.clear()
                if work is not None:
                    await self._guarded(work)
        finally:
            await self.cycle.judging.close()

    @property
    def busy(self) -> bool:
        """True from the acceptance of an order until its end."""
        return self._starting or not self._idle.is_set()

    async def until_idle(self) -> None:
        """Wait until the order in hand is done."""
        await self._idle.wait()

    # -- orders ------------------------------------------------------------------------------------------------

    def trigger(self, order: Order) -> None:
        """Accept a trigger, or refuse it.

        Raises:
            Busy: an order is being carried out.
            NotReady: paused, a take is unfinished, or no job is open.
            StaleCommand: it means another target than the current one.
            DiskFull: there is room for a few frames only.
        """
        self._ready()
        self.cycle.check(order)
        self._accept(lambda: self._frame(order))

    def retake(self, frame_id: str, order: Order) -> None:
        """Recall a frame and take it again. Raises as `trigger` does."""
        self._ready()
        self._accept(lambda: self._recalled(frame_id, order))

    def gate(self) -> None:
        """Measure the open gate. Raises as `trigger` does."""
        self._ready()
        self._accept(self._gate)

    def label(self, strip: Strip) -> None:
        """Take the label of a strip, its sleeve or its mount (strip 0: of its roll). Raises as `trigger` does."""
        self._ready()
        self._accept(lambda: self._label(strip))

    def recover(self) -> None:
        """Win the camera back, reconcile, go on: one button. Raises Busy."""
        self._accept(self._recover)

    @contextlib.asynccontextmanager
    async def camera_between_orders(self) -> AsyncIterator[None]:
        """The camera for something else than a frame, live view off. Raises Busy."""
        if self.busy:
            raise Busy("One thing at a time.", "The rig is busy with the frame in hand.", "Wait for the tone.")
        async with self.live.still():
            yield

    def lost(self) -> None:
        """The camera went away while nothing was asked of it: try to win it back, else say so. In the middle of an
        order the order itself finds out."""
        if not self.busy:
            self._accept(self._rejoined)

    def ready(self) -> None:
        """Raises as `trigger` does where nothing could be taken now, whatever the target."""
        self._ready()

    def halt(self) -> None:
        """No further exposure after the step in hand; the next order lifts it."""
        self.cycle.halted = True

    # -- inside ------------------------------------------------------------------------------------------------

    def _ready(self) -> None:
        self.rig.job_is_open()
        state = self.rig.state
        if self.busy:
            raise Busy("One thing at a time.", "The rig is busy with the frame in hand.", "Wait for the tone.")
        if state.paused:
            raise NotReady("The rig is paused.", "", "Resume first.")
        left = self.rig.hub.vitals.frames_left
        if left is not None and left < DISARM_FRAMES:
            raise DiskFull(
                f"The disk has room for {left} more frames.",
                f"Under {DISARM_FRAMES} nothing is taken any more, so that nothing can be lost.",
                "Free some room, then trigger again.",
            )
        if state.working is not None:
            raise NotReady("A take is unfinished.", "It must come to its end first.", "Press Recover.")

    def _accept(self, work: Work) -> None:
        if self.busy:
            raise Busy("One thing at a time.", "The rig is busy.", "Wait until it is ready.")
        self._idle.clear()
        self._work = work
        self._wake.set()

    def _at_rest(self) -> None:
        self._idle.set()
        self.rig.phase("idle")

    async def _guarded(self, work: Work) -> None:
        """Errors of the rig become a recorded trouble with its remedy; the ledger stays true either way."""
        try:
            await work()
        except LedgerError as error:
            self._say_ledger_failed(error)
        except RigdError as error:
            await self._trouble(error)
        except Exception as error:
            # A fault of the program must not take the rig down in mid-roll: the ledger is true, the operator is told.
            log.exception("an order failed")
            await self._trouble(_inner_fault(error))
        self._say_camera()

    async def _frame(self, order: Order) -> None:
        self.cycle.halted = False
        placed = await self.cycle.begin(order)
        await self._over()
        await self.cycle.frame(placed, order.rested)
        await self._ask_if_needed(placed.frame.frame_id)

    async def _recalled(self, frame_id: str, order: Order) -> None:
        await self.rig.hub.append(FrameRecalled(frame_id))
        await self._frame(order)

    async def _gate(self) -> None:
        await self._over()
        async with self.live.still():
            await measure_gate(self.rig, self.cycle.taking)

    async def _label(self, strip: Strip) -> None:
        await self._over()
        await take_label(self.rig, self.live, self.cycle.taking, strip)

    async def _join(self) -> None:
        if self.rig.body is None:
            await self.cycle.recovery.join()
        async with self.live.still():
            await self.cycle.recovery.reconcile()
        await self._over()

    async def _rejoined(self) -> None:
        async with self.live.still():
            await self.cycle.recovery.rejoin()

    async def _recover(self) -> None:
        if not self.rig.hub.vitals.ledger_ok:
            await self.rig.hub.reopen()
            self.rig.hub.notice(replace(self.rig.hub.vitals, ledger_ok=True))
        await asyncio.to_thread(self.rig.store.ballast.reserve)
        async with self.live.still():
            await self.cycle.recovery.rejoin()
            await self.cycle.recovery.reconcile()
        await self._over()

    async def _ask_if_needed(self, frame_id: str) -> None:
        """Where the policy wants somebody, the reason becomes the trouble that the page and the call show."""
        roll = self.rig.state.roll_of(frame_id)
        takes = roll.frames[frame_id].takes if roll else ()
        last = self.rig.state.take(takes[-1]) if takes else None
        if last is None or last.decision is not Decision.ASK or last.verdict is None:
            return
        remedy = "Trigger again, or move on to keep the best take." if roll and roll.frames[frame_id].keeper else ""
        await self.rig.hub.append(Troubled("look", last.verdict.why, last.why, remedy, frame_id))

    async def _trouble(self, error: RigdError) -> None:
        frame_id = self.rig.state.frame_id
        trouble = Troubled(error.code, error.what, error.why, error.remedy, frame_id)
        try:
            await self.rig.hub.append(trouble)
        except StoreError:
            await self._trouble_on_ballast(trouble)

    async def _trouble_on_ballast(self, trouble: Troubled) -> None:
        """The ledger could not be written. Give up the room that was kept for this, and write what happened."""
        try:
            await asyncio.to_thread(self.rig.store.ballast.release)
            await self.rig.hub.reopen()
            await self.rig.hub.append(trouble)
        except RigdError as failed:
            self._say_ledger_failed(failed)

    async def _over(self) -> None:
        if self.rig.state.trouble is not None:
            await self.rig.hub.append(TroubleOver())

    def _say_ledger_failed(self, error: RigdError) -> None:
        self.rig.hub.notice(replace(self.rig.hub.vitals, ledger_ok=False, phase=f"ledger: {error.what}"))

    def _say_camera(self) -> None:
        body = self.rig.body
        self.rig.hub.notice(
            replace(
                self.rig.hub.vitals,
                camera=body.model if body else "",
                camera_ok=body is not None,
                battery_pct=body.battery_pct if body else None,
            )
        )


def _inner_fault(error: Exception) -> RigdError:
    return RigdError(
        "Something inside rigd went wrong.",
        f"{type(error).__name__}: {error}",
        "Press Recover; if it comes back, restart rigd and keep the log.",
    )
