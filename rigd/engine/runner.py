"""The engine: takes one order at a time, keeps the camera, and says plainly when somebody is needed."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Awaitable, Callable

from msgspec.structs import replace

from rigd.engine.aside import Aside
from rigd.engine.cycle import Cycle
from rigd.engine.feed import Feed
from rigd.engine.live import LiveFeed
from rigd.engine.rig import Rig
from rigd.engine.steps import Order
from rigd.engine.troubles import Troubles, inner_fault
from rigd.engine.watch import Watch
from rigd.engine.watch_eyes import Eyes
from rigd.errors import BoardError, Busy, DiskFull, LedgerError, NotReady, RigdError
from rigd.model.events import FrameRecalled, Troubled
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
        self.aside = Aside(rig, self.live, self.cycle, self._accept_aside, self._ask_if_needed)
        self.feed: Feed | None = None
        # What the advancer moves, the watch leaves alone.
        self.watch = Watch(rig, self.eyes, self.trigger, lambda: self.busy or self.fed)
        self._troubles = Troubles(rig)
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

    @property
    def fed(self) -> bool:
        """True if orders for the current roll are carried out by the film advancer."""
        return self.feed is not None and self.feed.takes()

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
        self._accept(lambda: self._fed(order) if self.fed else self._frame(order))

    def go_on(self, source: str) -> None:
        """A strip that was left in the middle goes on, if there is one; nothing where something is in hand."""
        if self.fed and self.feed is not None and self.feed.waiting and not self.busy and self.rig.state.target:
            self.trigger(Order(source))

    def retake(self, frame_id: str, order: Order) -> None:
        """Recall a frame and take it again. Raises as `trigger` does."""
        self._ready()
        self._accept(lambda: self._recalled(frame_id, order))

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

    def _accept_aside(self, work: Work) -> None:
        self._ready()

        async def afresh() -> None:
            self.cycle.halted = False
            await self._troubles.over()
            await work()

        self._accept(afresh)

    def _at_rest(self) -> None:
        self._idle.set()
        self.rig.phase("idle")

    async def _guarded(self, work: Work) -> None:
        """Errors of the rig become a recorded trouble with its remedy; the ledger stays true either way."""
        try:
            await work()
        except LedgerError as error:
            self._troubles.ledger_failed(error)
        except RigdError as error:
            await self._troubles.record(error)
        except Exception as error:
            # A fault of the program must not take the rig down in mid-roll: the ledger is true, the operator is told.
            log.exception("an order failed")
            await self._troubles.record(inner_fault(error))
        self._say_camera()

    async def _frame(self, order: Order) -> None:
        self.cycle.halted = False
        async with contextlib.nullcontext() if self.eyes.can_see else self.live.held():
            placed = await self.cycle.begin(order)
            await self._troubles.over()
            await self.cycle.frame(placed, order.rested)
        await self._ask_if_needed(placed.frame.frame_id)

    async def _fed(self, order: Order) -> None:
        assert self.feed is not None
        await self._troubles.over()
        await self.feed.strip(order)
        if self.rig.state.frame_id is not None:
            await self._ask_if_needed(self.rig.state.frame_id)

    async def _recalled(self, frame_id: str, order: Order) -> None:
        await self.rig.hub.append(FrameRecalled(frame_id))
        if not self.fed or self.feed is None:
            await self._frame(order)
        elif self.feed.holds(frame_id):
            await self._troubles.over()
            await self.feed.single(order)
            await self._ask_if_needed(frame_id)
        else:
            # It is of another strip: somebody laid it into the gate.
            self.feed.forget()
            await self._frame(order)

    async def _join(self) -> None:
        if self.rig.body is None:
            await self.cycle.recovery.join()
        async with self.live.still():
            await self.cycle.recovery.reconcile()
        await self._troubles.over()
        await self._board_joined()

    async def _board_joined(self) -> None:
        """Without the advancer film is fed by hand: that it is missing is told, and nothing else depends on it."""
        if self.feed is None:
            return
        try:
            await self.feed.ready()
        except BoardError as error:
            self.feed.on = False
            await self._troubles.record(error)
        else:
            self.feed.on = True

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
        await self._troubles.over()
        await self._board_joined()

    async def _ask_if_needed(self, frame_id: str) -> None:
        """Where the policy wants somebody, the reason becomes the trouble that the page and the call show."""
        roll = self.rig.state.roll_of(frame_id)
        takes = roll.frames[frame_id].takes if roll else ()
        last = self.rig.state.take(takes[-1]) if takes else None
        if last is None or last.decision is not Decision.ASK or last.verdict is None:
            return
        remedy = "Trigger again, or move on to keep the best take." if roll and roll.frames[frame_id].keeper else ""
        await self.rig.hub.append(Troubled("look", last.verdict.why, last.why, remedy, frame_id))

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
