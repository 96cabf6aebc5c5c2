"""What must not run by itself, nor lie on a lamp unattended: film that can burn."""

from __future__ import annotations

from rigd.errors import BoardError, NotReady
from rigd.hub import Hub
from rigd.model.events import Troubled
from rigd.model.reduce import BREAK_S
from rigd.model.state import RollState
from rigd.model.words import BaseType
from rigd.ports import Clock, Lamp

# How often it is looked whether anybody is there.
_LOOK_S = 5.0


def may_run_alone(roll: RollState) -> None:
    """Raises NotReady where the film of this roll must be fed by hand, with the reason and where to turn.

    Nitrate base can ignite by itself, burns without air and cannot be put out: NFPA 40, Standard for the Storage and
    Handling of Cellulose Nitrate Film (from memory).
    """
    if roll.roll.base_type == BaseType.NITRATE:
        raise NotReady(
            f"Roll {roll.roll.label} is nitrate film: the advancer does not run it.",
            "It can catch fire, burns without air and cannot be put out; NFPA 40 and local codes say how to handle it.",
            "Feed it by hand, never unattended, and ask a trained conservator first.",
        )
    if roll.roll.base_type == BaseType.UNKNOWN and not roll.heeded:
        raise NotReady(
            f"Nobody has said what base the film of roll {roll.roll.label} has: the advancer does not run it.",
            "It may be nitrate, which can catch fire (NFPA 40).",
            "Feed it by hand, or read its edge, ask a conservator, and give your word in the roll's data.",
        )


class LampGuard:
    """Puts out the light that rigd drives where film that may burn lies on it and nobody has done anything for as long
    as no frame takes."""

    def __init__(self, hub: Hub, lamp: Lamp, clock: Clock, after_s: float = BREAK_S) -> None:
        self._hub, self._lamp, self._clock = hub, lamp, clock
        self._after_s = after_s

    async def run(self) -> None:
        """Runs until it is cancelled."""
        seen, since = self._hub.state.seq, self._clock.monotonic()
        while True:
            await self._clock.sleep(min(_LOOK_S, self._after_s))
            if self._hub.state.seq != seen:
                seen, since = self._hub.state.seq, self._clock.monotonic()
            elif self._clock.monotonic() - since >= self._after_s and self._may_burn():
                await self._put_out()
                seen, since = self._hub.state.seq, self._clock.monotonic()

    def _may_burn(self) -> bool:
        roll = self._hub.state.roll
        if roll is None or roll.closed:
            return False
        try:
            may_run_alone(roll)
        except NotReady:
            return True
        return False

    async def _put_out(self) -> None:
        try:
            if (await self._lamp.shining()).level == 0:
                return
            await self._lamp.shine(0)
        except BoardError:  # it tells of itself where it is asked for something
            return
        roll = self._hub.state.roll
        await self._hub.append(Troubled(
            "lamp-out", "The lamp was put out.",
            f"Roll {roll.roll.label if roll else ''} may be nitrate film, and nobody was seen for a while.",
            "Stay with it while it lies on the lamp; NFPA 40, local codes or a trained conservator say more.",
        ))  # fmt: skip
