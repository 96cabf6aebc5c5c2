"""Orders beside the cycle: the open gate, a label, a roll's base, and a second exposure of a frame."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from rigd.engine.base_take import meter_base
from rigd.engine.cycle import Cycle
from rigd.engine.gate import measure_gate
from rigd.engine.labels import take_label
from rigd.engine.live import LiveFeed
from rigd.engine.policy import second_shutter
from rigd.engine.rig import Rig
from rigd.engine.steps import Order
from rigd.errors import NotReady
from rigd.model.events import FrameRecalled
from rigd.model.state import RollState
from rigd.model.values import Exposure, Strip, Take
from rigd.model.words import Purpose, Quality

Work = Callable[[], Awaitable[None]]


class Aside:
    """`accept` takes an order or refuses it, as a trigger is; `call` calls somebody where a frame's last take asks for
    it. Every verb raises as `Runner.trigger` does."""

    def __init__(
        self, rig: Rig, live: LiveFeed, cycle: Cycle, accept: Callable[[Work], None],
        call: Callable[[str], Awaitable[None]],
    ) -> None:  # fmt: skip
        self._rig = rig
        self._live = live
        self._cycle = cycle
        self._accept = accept
        self._call = call

    def gate(self) -> None:
        """Measure the open gate."""
        self._accept(self._gate)

    def label(self, strip: Strip) -> None:
        """Take the label of a strip, its sleeve or its mount (strip 0: of its roll)."""
        self._accept(lambda: self._label(strip))

    def base(self, by: str) -> None:
        """Meter the base of the current roll from the clear film in the gate. Also raises NotReady without a roll."""
        roll = self._rig.state.roll
        if roll is None:
            raise NotReady("No roll is open.", "A base belongs to a roll.", "Open the roll first.")
        self._accept(lambda: self._base(roll, by))

    def bracket(self, frame_id: str, order: Order) -> None:
        """Take the second, longer exposure of a frame. Also raises NotReady where it needs none."""
        want = self._second(frame_id)
        self._accept(lambda: self._bracket(frame_id, order, want))

    def _second(self, frame_id: str) -> Exposure:
        roll = self._rig.state.roll_of(frame_id)
        take = self._exceeding(roll, frame_id) if roll else None
        if roll is None or take is None or take.verdict is None:
            raise NotReady(
                "That frame needs no second exposure.", "Its take holds its whole range, or it has two already.",
                "Look at what was found on it.",
            )  # fmt: skip
        picked = second_shutter(take, take.verdict, self._rig.joined().shutters, self._rig.bounds(roll))
        if picked is None:
            raise NotReady(
                "No longer time is allowed.", "The second exposure must be longer than the first.",
                "Allow slower times, or open the lens for the whole roll.",
            )  # fmt: skip
        return Exposure(picked.choice.value, picked.choice.label, take.want.f_number, take.want.iso)

    def _exceeding(self, roll: RollState, frame_id: str) -> Take | None:
        keeper = [roll.takes[t] for t in roll.frames[frame_id].keeper if t in roll.takes]
        fits = len(keeper) == 1 and keeper[0].verdict is not None and keeper[0].verdict.take is Quality.EXCEEDS
        return keeper[0] if fits else None

    # -- inside --------------------------------------------------------------------------------------------------

    async def _gate(self) -> None:
        async with self._live.still():
            await measure_gate(self._rig, self._cycle.taking)

    async def _label(self, strip: Strip) -> None:
        await take_label(self._rig, self._live, self._cycle.taking, strip)

    async def _base(self, roll: RollState, by: str) -> None:
        async with self._live.still():
            await meter_base(self._rig, self._cycle.taking, roll, by)

    async def _bracket(self, frame_id: str, order: Order, want: Exposure) -> None:
        if self._rig.state.frame_id != frame_id:
            await self._rig.hub.append(FrameRecalled(frame_id))
        placed = await self._cycle.begin(Order(order.source, order.nonce, purpose=Purpose.BRACKET))
        await self._cycle.second(placed, want)
        await self._call(frame_id)
