"""A long job with all that goes wrong in one: slides that miss, kicks, slips, blanks, pulled cables, late events.

Strips are fed by hand and by the advancer in turn. Whoever stands beside the rig does what it asks for and no more.
"""

from __future__ import annotations

import asyncio
import random
from collections.abc import Callable
from pathlib import Path

from advancing import Advancing
from rigs import nonce

from rigd.errors import RigdError
from rigd.model.events import AnyEvent, Disarmed, Settled, Triggered, Troubled
from rigd.model.events_feed import MoveIntended
from rigd.model.state import FrameState
from rigd.operations import feeding

# So long a frame may take with all its troubles, on a busy machine.
PATIENCE_S = 90.0
# An operator who hears nothing for so long looks at the film.
IMPATIENT_S = 8.0
# How often, of a hundred frames.
MISSES, KICKS, SLIPS, LATE, DROPS, BOARD = 20, 8, 4, 5, 2, 25


class Soak:
    """Feeds a roll of strips of `places` frames, with chances from `seed`."""

    def __init__(self, rig: Advancing, places: int, seed: int) -> None:
        self.rig, self._places = rig, places
        self._chance = random.Random(seed)
        self.happened: dict[str, int] = {}

    async def strip(self, number: int, by: str) -> None:
        """One strip from its coming to its last frame."""
        await self.rig.hand.acall("lay", strip=None)
        await self.rig.verbs.do(feeding.FEED_BY, feeding.FeedBy("advancer" if by == "board" else "hand"))
        await self._armed()
        if by == "board":
            await self._by_board(number)
        else:
            await self._by_hand(number)

    # -- two ways of feeding -----------------------------------------------------------------------------------------

    async def _by_board(self, number: int) -> None:
        await self.rig.board_sees(False)
        await self.rig.hand.acall("lay", strip=number, at_mm=-44.0, seconds=0.3)
        moves = 0

        async def meanwhile(event: AnyEvent) -> None:
            nonlocal moves
            await self._meddle(event)
            if isinstance(event, MoveIntended) and (moves := moves + 1) > 1 and self._happens("board", BOARD):
                await self._break_board()

        await self._until(lambda: len(self._done(number)) == self._places, meanwhile)
        await self._until(lambda: self.rig.daemon.desk.state.target != f"s-{number:04d}#{self._places}", meanwhile)

    async def _by_hand(self, number: int) -> None:
        await self.rig.hand.acall("lay", strip=number, seconds=0.8)
        for place in range(1, self._places + 1):
            if place > 1:
                await self._slide(place)
            await self._until(lambda place=place: place in self._done(number), self._meddle)

    async def _slide(self, place: int) -> None:
        if self._happens("miss", MISSES):
            off = self._chance.choice((-1, 1)) * self._chance.uniform(12.0, 40.0)
            await self.rig.hand.acall("slide", frame=place, off_mm=off, seconds=1.0)
            await self.rig.hand.acall("still", within_um=20.0)
        await self.rig.hand.acall("slide", frame=place, off_mm=self._chance.uniform(-1.0, 1.0), seconds=0.8)

    # -- what goes wrong ---------------------------------------------------------------------------------------------

    def _happens(self, what: str, percent: int) -> bool:
        if self._chance.randrange(100) >= percent:
            return False
        self.happened[what] = self.happened.get(what, 0) + 1
        return True

    async def _meddle(self, event: AnyEvent) -> None:
        """What can happen to any frame."""
        hand = self.rig.hand
        if isinstance(event, Triggered):
            if self._happens("late event", LATE):
                await hand.acall("fault", kind="late_event", at="event", seconds=0.7)
            if self._happens("camera gone", DROPS):
                await hand.acall("fault", kind="drop", at="download")
        elif isinstance(event, Settled):
            if self._happens("kick", KICKS):
                await hand.acall("kick", amplitude_um=self._chance.uniform(20.0, 150.0))
            if self._happens("slip", SLIPS):
                await self._nudge()

    async def _nudge(self) -> None:
        film = await self.rig.hand.acall("film")
        if film["strip"] is not None and not film["moving"]:
            await self.rig.hand.acall("slide", to_mm=film["position_mm"] + 0.15, seconds=0.0)

    async def _break_board(self) -> None:
        board, what = self.rig.board, self._chance.choice(("cable", "boot", "sticks", "garbage", "fault"))
        self.happened[what] = self.happened.get(what, 0) + 1
        if what == "cable":
            await board.acall("plug", on=False)
        elif what == "boot":
            await board.acall("reset", why="watchdog")
        elif what == "sticks":
            await board.acall("stick", on=True)
            await self.rig.moving()
            await board.acall("stick", on=False)
        elif what == "garbage":
            await board.acall("spoil", way=self._chance.choice(("in", "out")), how="flip", skip=2, count=20, mask=0x21)
        else:
            await board.acall("pin", name="fault", on=True)

    # -- whoever stands beside it ------------------------------------------------------------------------------------

    async def _until(self, done: Callable[[], bool], meanwhile: Callable[[AnyEvent], object]) -> None:
        """Until it is done; what asks for somebody is answered."""
        try:
            await self._waited(done, meanwhile)
        except TimeoutError:
            desk = self.rig.daemon.desk
            film = await self.rig.hand.acall("film")
            lies = f"strip {film['strip']} at {film['position_mm']}"
            told = f"{desk.state.target}, {desk.state.trouble}, {desk.hub.vitals}, {lies}, {self.happened}"
            raise AssertionError(f"It does not come to an end: {told}") from None

    async def _waited(self, done: Callable[[], bool], meanwhile: Callable[[AnyEvent], object]) -> None:
        async with asyncio.timeout(PATIENCE_S):
            while not done():
                event = await self._next_event()
                if isinstance(event, Troubled | Disarmed):
                    await self._help()
                elif event is not None:
                    result = meanwhile(event)
                    if asyncio.iscoroutine(result):
                        await result
            await self.rig.daemon.desk.engine().until_idle()

    async def _next_event(self) -> AnyEvent | None:
        """None where nothing came for so long that the operator looks at the film, and presses."""
        try:
            async with asyncio.timeout(IMPATIENT_S):
                return await self.rig.told.get()
        except TimeoutError:
            await self._look_and_press()
            return None

    async def _look_and_press(self) -> None:
        if not self.rig.daemon.desk.engine().busy and await self._is_meant():
            self.happened["pressed"] = self.happened.get("pressed", 0) + 1
            await self._tried(self.rig.verbs.trigger(nonce=nonce()))

    async def _help(self) -> None:
        """Put the cables back, press Recover, trigger where nobody else does, and arm again."""
        engine, state = self.rig.daemon.desk.engine(), lambda: self.rig.daemon.desk.state
        await engine.until_idle()
        await self.rig.board.acall("plug", on=True)
        await self.rig.board.acall("pin", name="fault", on=False)
        await self.rig.board_answers()
        trouble = state().trouble
        if trouble is not None and trouble.code == "look":
            await self.rig.verbs.skip()
        elif trouble is not None and not trouble.code.startswith("strip"):
            await self._tried(self.rig.verbs.recover())
        await engine.until_idle()
        await self._armed()
        if not engine.busy and await self._is_meant():
            await self._tried(self.rig.verbs.trigger(nonce=nonce()))

    async def _is_meant(self) -> bool:
        """Whether a press would do now: the advancer finds the frame itself, by hand it must lie there."""
        target = self.rig.daemon.desk.state.target
        if target is None or target.startswith("new"):
            return False
        film = await self.rig.hand.acall("film")
        if self.rig.daemon.desk.engine().fed:
            return film["strip"] is not None
        here = [f for f in film["frames"] if abs(f["centre_mm"] - film["position_mm"]) < 2.0]
        strip = self.rig.daemon.desk.state.rolls["r-0001"].strips[target.split("#")[0]]
        return [(f["strip"], f["place"]) for f in here] == [(strip.number, int(target.split("#")[1]))]

    async def _tried(self, work: object) -> None:
        """What is refused now is asked for again by the next trouble."""
        try:
            await work  # type: ignore[misc]  # a verb's coroutine
        except RigdError:
            return

    async def _armed(self) -> None:
        await self.rig.daemon.desk.engine().until_idle()
        if not self.rig.daemon.desk.state.armed:
            await self._tried(self.rig.verbs.arm())

    def _done(self, number: int) -> dict[int, FrameState]:
        """The strip's frames that have a keeper, by place."""
        roll = self.rig.daemon.desk.state.rolls["r-0001"]
        return {
            frame.frame.place: frame
            for frame in roll.frames.values()
            if frame.keeper and roll.strips[frame.frame.strip_id].number == number
        }


def resident_mb() -> float:
    """What this process holds in memory (Linux: /proc)."""
    status = Path("/proc/self/status").read_text("utf-8")
    return next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS")) / 1024

