"""A hand that feeds film to an armed rig and hears what becomes of it."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncGenerator, AsyncIterator, Callable
from pathlib import Path

from rigs import daemon_on, paper_work

from rigd.app.daemon import Daemon
from rigd.client import RemoteVerbs
from rigd.hub import Notice, Subscription, Vitals
from rigd.model.events import Advanced, AnyEvent, Committed
from rigd.model.events_watch import Disarmed
from rigd.model.state import FrameState, RollState
from rigd_sim.control import Hand

# Nothing that is waited for takes longer than a few seconds; a busy machine may need more.
PATIENCE_S = 30.0
# As the hand of the demo slides a frame.
SLIDE_S = 1.5


class Feeder:
    """`hear` the next event of a kind; `see` and `says` wait for a word of the watch."""

    def __init__(self, daemon: Daemon, verbs: RemoteVerbs, hand: Hand, listener: Subscription) -> None:
        self.daemon = daemon
        self.verbs = verbs
        self.hand = hand
        self._items: AsyncGenerator[Committed | Notice, None] = listener.__aiter__()  # type: ignore[assignment]

    async def close(self) -> None:
        await self._items.aclose()

    async def hear(self, *kinds: type[AnyEvent]) -> AnyEvent:
        try:
            async with asyncio.timeout(PATIENCE_S):
                async for item in self._items:
                    event = getattr(item, "event", None)
                    if isinstance(event, kinds):
                        return event
        except TimeoutError:
            pass
        raise AssertionError(f"no {' or '.join(k.__name__ for k in kinds)}: {self._how_it_stands()}")

    async def taken(self) -> None:
        """Until the frame in the gate is taken. A machine that is busy elsewhere may give too few pictures to follow
        the film; then the watch says so, and this hand does what it is told: the frame lies there, armed again."""
        heard = await self.hear(Advanced, Disarmed)
        if isinstance(heard, Disarmed):
            assert "into the gate, then arm again" in heard.why
            await self.verbs.arm()
            await self.hear(Advanced)

    async def see(self, wanted: Callable[[Vitals], bool]) -> Vitals:
        """Until what the watch says is as wanted, from now on."""
        try:
            async with asyncio.timeout(PATIENCE_S):
                while not wanted(self.daemon.desk.hub.vitals):
                    await anext(self._items)
        except TimeoutError:
            raise AssertionError(f"never seen: {self._how_it_stands()}") from None
        return self.daemon.desk.hub.vitals

    def _how_it_stands(self) -> str:
        state, vitals = self.daemon.desk.state, self.daemon.desk.hub.vitals
        lies = self.hand.film()["position_mm"]
        return f"{vitals}; taken {self.places()}; disarmed {state.disarmed!r}; {state.trouble}; the film lies at {lies}"

    async def says(self, *words: str) -> Vitals:
        """Until the watch says one of these words."""
        return await self.see(lambda v: v.watch in words)

    async def lay(self, strip: int | None, seconds: float = 0.8) -> None:
        """Lay a strip, gliding in, or take the film out."""
        await self.hand.acall("lay", strip=strip, seconds=seconds)

    async def slide(self, **args: object) -> None:
        await self.hand.acall("slide", **{"seconds": SLIDE_S, **args})

    @property
    def roll(self) -> RollState:
        roll = self.daemon.desk.state.roll
        assert roll is not None
        return roll

    @property
    def frames(self) -> list[FrameState]:
        """In the order in which they were met."""
        return list(self.roll.frames.values())

    def places(self) -> list[tuple[int, int]]:
        """(strip, place) of each frame, in the order in which they were met."""
        return [(self.roll.strips[f.frame.strip_id].number, f.frame.place) for f in self.frames]


@contextlib.asynccontextmanager
async def armed(root: Path, camera: str, hand: Hand, fresh: bool = True) -> AsyncIterator[Feeder]:
    """A daemon on a simulated rig, armed; `fresh`: with an open roll, its first strip announced and the gate empty."""
    async with daemon_on(root, camera) as (daemon, verbs):
        listener = daemon.desk.hub.subscribe(4096)
        feeder = Feeder(daemon, verbs, hand, listener)
        try:
            if fresh:
                await hand.acall("lay", strip=None)
                await paper_work(verbs)
            await verbs.arm()
            if fresh:
                await feeder.see(lambda v: v.watch == "open")
            yield feeder
        finally:
            await feeder.close()
            daemon.desk.hub.leave(listener)
