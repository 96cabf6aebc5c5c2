"""The rig triggers by itself: armed, it watches the film and fires when a new frame lies whole in the gate and rests.

Never while anything moves, with a hand in the gate, on a frame that was taken, or where it is not sure which one it is.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable

from msgspec.structs import replace

from rigd.engine.arming_values import Found, Wanted, What
from rigd.engine.live import PACE_S, Watching
from rigd.engine.rig import Rig
from rigd.engine.steps import Order
from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_film import FilmKeeper
from rigd.engine.watch_sight import Seen
from rigd.engine.watch_words import Said, told
from rigd.errors import Busy, LedgerError, NotReady, RawUnreadable, RigdError
from rigd.hub import Subscription
from rigd.model.events import Advanced, FrameRecalled, Triggered, Troubled, TroubleOver
from rigd.model.events_watch import Armed, Disarmed

log = logging.getLogger("rigd.engine")

SOURCE = "watch"
# Without a picture for so long live view is broken; stills take their own time and do not count. A machine that is busy
# elsewhere was seen to give none for five seconds; nothing is released meanwhile.
_BLIND_S = 10.0
# A picture that took longer on its way says too little of now to release a shutter by.
_LATE_S = 0.5
# The same picture again and again: the camera shows an old one.
_FROZEN_S = 5.0
_IN_DOUBT = "The film moved too fast to be followed, and which frame lies in the gate is in doubt."


class Watch:
    """`run` watches until it is cancelled; `arm` and `disarm` from when to when. Disarmed at the start."""

    def __init__(self, rig: Rig, eyes: Eyes, trigger: Callable[[Order], None], busy: Callable[[], bool]) -> None:
        self._rig = rig
        self._eyes = eyes
        self._trigger = trigger
        self._busy = busy
        self._film = FilmKeeper(rig, eyes)
        self._armed = asyncio.Event()
        self._waiting: float | None = None
        self._fresh_at = 0.0

    @property
    def armed(self) -> bool:
        return self._armed.is_set()

    async def arm(self, by: str) -> None:
        """Take each new frame without a press from now on.

        Raises:
            NotReady: no job, no camera, or the camera has no live view.
        """
        self._rig.job_is_open()
        if not self._rig.joined().live_view:
            raise NotReady(
                "This camera shows no live pictures.", "Without them nobody can see when the film is still.",
                "Use a pedal or the page instead.",
            )  # fmt: skip
        if self.armed:
            return
        over = [TroubleOver()] if self._rig.state.trouble is not None else []
        await self._rig.hub.append(*over, Armed(by))
        self._film.begin()
        self._waiting = None
        self._armed.set()

    async def disarm(self, by: str, why: str = "") -> None:
        """No frame without a press any more. Nothing where it is not armed."""
        if not self.armed:
            return
        self._armed.clear()
        self._say(Said("off"))
        await self._rig.hub.append(Disarmed(by, why))

    async def recall(self, frame_id: str) -> None:
        """Take a frame once more: at once where it lies in the gate, else when it is laid there."""
        self._film.again = frame_id
        await self._rig.hub.append(FrameRecalled(frame_id))

    async def run(self) -> None:
        """Watch until cancelled."""
        if self._rig.state.armed:
            await self._rig.hub.append(Disarmed("rigd", "rigd was started: arm it again."))
        listener = self._rig.hub.subscribe()
        try:
            async with asyncio.TaskGroup() as group:
                group.create_task(self._listen(listener), name="watch listens")
                await self._look()
        finally:
            self._rig.hub.leave(listener)

    # -- what others do ------------------------------------------------------------------------------------------------

    async def _listen(self, listener: Subscription) -> None:
        async for item in listener:
            event = getattr(item, "event", None)
            if isinstance(event, Troubled):
                await self._give_up(event.what)
            elif isinstance(event, FrameRecalled):
                self._film.again = event.frame_id
            elif isinstance(event, Triggered) and self.armed:
                self._film.triggered(event)
            elif isinstance(event, Advanced) and self.armed:
                self._film.advanced(event)
        if listener.lagged:
            # A listener that was too slow has missed events: better not armed than mistaken.
            await self._give_up("Events were missed.")

    async def _give_up(self, why: str) -> None:
        """Disarm by itself. Where the ledger is what is in doubt, the page shows that, and this is not written down."""
        try:
            await self.disarm("rigd", why)
        except LedgerError:
            self._say(Said("off"))

    # -- looking -------------------------------------------------------------------------------------------------------

    async def _look(self) -> None:
        while True:
            await self._armed.wait()
            if not self._eyes.can_see:
                self._say(Said("waiting", "Open a roll."))
                await self._rig.clock.sleep(0.5)
                continue
            async with self._eyes.live.watch(PACE_S) as watching:
                await self._while_armed(watching)

    async def _while_armed(self, watching: Watching) -> None:
        number = self._eyes.live.last[0]
        while self.armed and self._eyes.can_see:
            seen = await self._next(number)
            number = seen.number if seen is not None else self._eyes.live.last[0]
            if seen is None or not self.armed or not self._eyes.can_see:
                continue
            await self._guarded(seen)
            hurried = self._waiting is not None or (seen.rest is None and not seen.open)
            watching.pace_s = self._rig.stilling.pace_s if hurried else PACE_S

    async def _guarded(self, seen: Seen) -> None:
        """A fault of the watch ends the watch, not the rig."""
        try:
            await self._step(seen)
        except LedgerError:
            await self._give_up("The ledger is in doubt.")
        except Exception as error:
            await self._failed(error)

    async def _failed(self, error: Exception) -> None:
        log.error("the watch failed", exc_info=error)
        await self._give_up(f"Something inside rigd went wrong: {type(error).__name__}.")

    async def _next(self, number: int) -> Seen | None:
        try:
            async with asyncio.timeout(_BLIND_S):
                return await self._eyes.after(number, self._film.expected_mm())
        except RawUnreadable:
            return None
        except TimeoutError:
            if not self._busy():
                await self._give_up("No live picture comes any more.")
            return None
        except Exception as error:
            await self._failed(error)
            return None

    async def _step(self, seen: Seen) -> None:
        """One look: follow the film, and fire if all is as it should be."""
        self._film.follow(seen, self._busy())
        wanted = self._film.wanted()
        if await self._is_frozen(seen) or self._busy() or self._film.undecided():
            self._say(Said("busy"))
            return
        if not isinstance(wanted, Wanted):
            self._say(Said("waiting", wanted))
            return
        await self._film.prime(seen)
        if await self._film.next_strip(seen, wanted):
            return
        found = self._film.find(seen, wanted)
        self._wait_for(found, seen)
        waited = seen.at - self._waiting if self._waiting is not None else 0.0
        self._say(told(found, seen, wanted, self._eyes.sight().along_x, waited, self._rig.stilling.deadline_s))
        if seen.rest is not None and found.what is What.UNSURE:
            await self._give_up(f"{_IN_DOUBT} Lay frame {wanted.place} into the gate, then arm again.")
        elif self._ready(found, seen):
            await self._fire(found, seen)

    async def _is_frozen(self, seen: Seen) -> bool:
        """True while the camera repeats one picture; if it goes on, nobody can rely on what is seen."""
        if not seen.frozen:
            self._fresh_at = seen.at
        elif seen.at - self._fresh_at > _FROZEN_S:
            await self._give_up("The camera repeats one live picture.")
        return seen.frozen

    def _wait_for(self, found: Found, seen: Seen) -> None:
        """Since when the wanted frame lies there and is only waited for."""
        if found.what is not What.WANTED or seen.hand:
            self._waiting = None
        elif self._waiting is None:
            self._waiting = seen.at

    def _ready(self, found: Found, seen: Seen) -> bool:
        if found.what is not What.WANTED or seen.hand or seen.rest is None or seen.late_s > _LATE_S:
            return False
        return self._rig.clock.monotonic() - seen.rest.since >= self._rig.still_for_s

    async def _fire(self, found: Found, seen: Seen) -> None:
        nonce = secrets.token_hex(8)
        self._film.expect(nonce, found, seen)
        self._waiting = None
        try:
            self._trigger(Order(SOURCE, nonce, self._rig.state.target, rested=seen))
        except Busy:
            self._film.refused()
        except RigdError as refused:
            self._film.refused()
            await self._give_up(refused.what)

    def _say(self, said: Said) -> None:
        vitals = self._rig.hub.vitals
        self._rig.hub.notice(replace(vitals, watch=said.watch, where=said.where, nudge_mm=said.nudge_mm))
