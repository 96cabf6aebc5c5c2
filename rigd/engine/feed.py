"""Film fed by a motor: from one press to the strip's end, frame after frame, with nobody at the rig.

The film moves on as soon as the verdict allows; hashing, making durable and reading back go on beside it, and are done
before the next exposure is intended. Pause and stop act between steps, the emergency stop at once.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from msgspec.structs import replace

from rigd.engine.caution import may_run_alone
from rigd.engine.cycle import Cycle
from rigd.engine.feed_gate import FeedGate
from rigd.engine.feed_look import FeedLook
from rigd.engine.feed_travel import Travel
from rigd.engine.feed_values import FeedLimits, Track
from rigd.engine.places import next_place
from rigd.engine.policy import Ruling
from rigd.engine.rig import Rig
from rigd.engine.steps import Order, Placed
from rigd.engine.watch_eyes import Eyes
from rigd.errors import MotionStopped, NotReady
from rigd.model.events import Troubled
from rigd.model.events_feed import FilmEnded, FilmStopped, StopCleared
from rigd.model.formats import film_format
from rigd.model.values import Strip, Take
from rigd.model.words import Decision
from rigd.ports import Advancer, Lamp

SOURCE = "advancer"


class Feed:
    """Feeds strips. `on`: the advancer answers; `wanted`: it shall move the film, else a hand does. `waiting`: a
    strip was left in the middle, and goes on with the next order."""

    def __init__(
        self, rig: Rig, cycle: Cycle, eyes: Eyes, board: Advancer, limits: FeedLimits, lamp: Lamp | None = None
    ) -> None:
        self._rig, self._cycle, self._eyes, self._board = rig, cycle, eyes, board
        self._limits, self._lamp = limits, lamp
        look = FeedLook(rig, eyes)
        self._travel = Travel(rig, board, look, limits)
        self._gate = FeedGate(rig, board, look, self._travel, limits)
        self._travelling: asyncio.Task[bool] | None = None
        self.on = False
        self.wanted = True
        self.waiting = False

    # -- what the runner asks ----------------------------------------------------------------------------------------

    def takes(self) -> bool:
        """True if an order for the current roll is carried out by the advancer."""
        if not (self.on and self.wanted):
            return False
        try:
            self.require()
        except NotReady:
            return False
        return True

    def require(self) -> None:
        """Raises NotReady with the reason where the current roll's film cannot be fed by the advancer."""
        roll = self._rig.state.roll
        if roll is None:
            raise NotReady("No roll is open.", "Its film tells how it is fed.", "Open the roll first.")
        may_run_alone(roll)
        if film_format(roll.roll.film_format).loose:
            raise NotReady(f"{roll.roll.film_format} does not run through the advancer.", "", "Feed it by hand.")

    def forget(self) -> None:
        """The film was changed or moved by somebody: its place must be found again."""
        self._gate.track = None

    async def strip(self, order: Order) -> None:
        """Take the frame that is meant, and every one after it to the strip's end.

        Raises:
            BoardError, CameraError, StoreError, NotStill, NotReady: the ledger is true, and the next order goes on.
        """
        self._cycle.halted = self.waiting = False
        async with self._eyes.live.watch(self._rig.stilling.pace_s), self._safely():
            await self.ready()
            track, strip = await self._gate.bring()
            # What was meant has been checked; a strip that nobody had announced has its own name by now.
            order = replace(order, target=None)
            while await self._one(order, track, strip):
                order = Order(SOURCE)
                strip = self._rig.state.rolls[strip.roll_id].strips[strip.strip_id]

    async def single(self, order: Order) -> None:
        """Take one frame of the strip in the advancer again, wherever on the strip it lies; the film stays there."""
        self._cycle.halted = False
        async with self._eyes.live.watch(self._rig.stilling.pace_s), self._safely():
            await self.ready()
            await self._gate.bring()
            await self._cycle.frame(await self._cycle.begin(replace(order, target=None)))

    def holds(self, frame_id: str) -> bool:
        """True if the strip in the advancer is the frame's."""
        roll, track = self._rig.state.roll_of(frame_id), self._gate.track
        return roll is not None and track is not None and roll.frames[frame_id].frame.strip_id == track.strip_id

    # -- the board itself --------------------------------------------------------------------------------------------

    async def ready(self) -> None:
        """Greet the board, and see that it may move; its lamp is on and warm then. Raises BoardError."""
        await self._board.ready()
        place = await self._board.place()
        if place.stopped:
            raise MotionStopped("The advancer is stopped.", "A stop is latched.", "Look after the film, then clear it.")
        if not place.sure and self._gate.track is not None:
            self._gate.track.here = None
        if self._lamp is not None and self._limits.lamp > 0:
            await self._lamp.shine(self._limits.lamp, self._limits.colour)
            await self._lamp.warmed()

    async def stop(self, by: str) -> None:
        """Emergency stop: motor and lamp off at once, latched. Raises BoardError where the board does not answer."""
        self._cycle.halted = True
        try:
            await self._board.stop()
        finally:
            await self.was_stopped(by)

    async def was_stopped(self, by: str) -> None:
        """The board tells that a stop has been latched."""
        self._cycle.halted = True
        self.forget()
        if not self._rig.state.stopped:
            await self._rig.hub.append(FilmStopped(by))

    async def clear(self, by: str) -> None:
        """Clear the stop on purpose; nothing moves. Raises BoardError (MotionStopped: the switch is still pressed)."""
        await self._board.ready()
        await self._board.clear()
        await self._rig.hub.append(StopCleared(by))

    # -- one strip ---------------------------------------------------------------------------------------------------

    async def _one(self, order: Order, track: Track, strip: Strip) -> bool:
        """Take the frame in the gate and bring the next one; False where the strip ends or somebody is needed."""
        placed = await self._cycle.begin(order)
        with self._cycle.judging.heard(lambda take, ruling: self._ruled(placed, track, take, ruling)):
            await self._cycle.frame(placed)
        self.waiting = not self._kept(placed)
        return not self.waiting and await self._on(placed, track, strip)

    def _ruled(self, placed: Placed, track: Track, take: Take, ruling: Ruling) -> None:
        """The verdict is known: if the frame is kept, the film may move while its file is being made safe."""
        frame = placed.frame
        if ruling.decision is not Decision.KEEP or take.frame_id != frame.frame_id or self._halted():
            return
        place = next_place(self._rig.state.rolls[frame.roll_id], frame.frame_id)
        if place is not None and self._travelling is None:
            self._travelling = asyncio.create_task(self._travel.go(track, place, frame.frame_id), name="travel")

    async def _on(self, placed: Placed, track: Track, strip: Strip) -> bool:
        """What follows a frame that was kept: wait for the film that is moving."""
        state = self._rig.state
        if state.strip_id != strip.strip_id or state.next_place is None:
            await self._through(track, strip, placed.frame.place)
            return False
        if self._travelling is None:
            self.waiting = True
            return False
        there, self._travelling = await self._travelling, None
        if not there:
            await self._ended(strip, placed.frame.place)
            return False
        self.waiting = self._halted()
        return not self.waiting

    def _kept(self, placed: Placed) -> bool:
        frame = self._rig.state.rolls[placed.frame.roll_id].frames[placed.frame.frame_id]
        last = self._rig.state.take(frame.takes[-1]) if frame.takes else None
        return last is not None and last.decision is Decision.KEEP

    def _halted(self) -> bool:
        return self._cycle.halted or self._rig.state.paused

    # -- the strip's end ---------------------------------------------------------------------------------------------

    async def _through(self, track: Track, strip: Strip, place: int) -> None:
        """All places of the strip are done: it calls for the next one, unless film follows that nobody announced."""
        rest = await self._board.place()
        expected = track.expected_mm(place + 1, self._travel.usual_mm(track))
        await self._rig.hub.append(FilmEnded(strip.strip_id, place, "All its frames are done."))
        if rest.film and expected is not None and track.exists(expected, self._limits.sensor_mm):
            why = f"{place} frames were announced, and the film sensor still sees film."
            await self._call("strip-goes-on", f"Strip {strip.number} goes on.", why, "Count its frames again.")

    async def _ended(self, strip: Strip, place: int) -> None:
        """No film follows the frame that was done last."""
        await self._rig.hub.append(FilmEnded(strip.strip_id, place, "No film follows."))
        if strip.places is not None and strip.places > place:
            what = f"Strip {strip.number} ends after frame {place}."
            remedy = "Look whether a frame was passed over, then lay the next strip."
            await self._call("strip-ended", what, f"{strip.places} frames were announced.", remedy)

    async def _call(self, code: str, what: str, why: str, remedy: str) -> None:
        await self._rig.hub.append(Troubled(code, what, why, remedy))

    # -- inside ------------------------------------------------------------------------------------------------------

    @asynccontextmanager
    async def _safely(self) -> AsyncIterator[None]:
        """Whatever goes wrong: film that moves comes to rest before anybody is told."""
        try:
            yield
        except asyncio.CancelledError:
            if self._travelling is not None:
                self._travelling.cancel()
            raise
        finally:
            travelling, self._travelling = self._travelling, None
            if travelling is not None:
                await asyncio.gather(travelling, return_exceptions=True)
