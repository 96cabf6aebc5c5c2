"""What a press of a pedal does: actions assigned to its gestures, and one pedal for all of them.

A long press can offer: it names an action that has no gesture of its own; a short press goes on to the next one, a long
one carries it out, a double one leaves it. While the motor moves film, a long press stops the film, whatever it is
assigned to.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from msgspec.structs import replace

from rigd.errors import Busy, NotReady, RigdError, StaleCommand
from rigd.hub import Refused
from rigd.model.words import Film
from rigd.operations import arming, feeding, going_back, rolls, running
from rigd.operations.desk import Desk
from rigd.operations.verb import Nothing
from rigd.ports import Press, Trigger

Action = Callable[[Desk, Press], Awaitable[Any]]

# An offer nobody takes is withdrawn: the next press must not be taken for an answer to something long forgotten.
OFFER_S = 8.0


async def _trigger(desk: Desk, press: Press) -> None:
    await running.trigger(desk, source=press.source, nonce=secrets.token_hex(8), pressed=press.at)


async def _retake(desk: Desk, press: Press) -> None:
    await running.retake(desk, source=press.source, nonce=secrets.token_hex(8))


async def _skip(desk: Desk, press: Press) -> None:
    await running.skip(desk, source=press.source)


async def _unexposed(desk: Desk, press: Press) -> None:
    """The frame that waits for a word, or else the last one that was taken; a waiting one is done with then."""
    waiting = desk.state.frame_id
    await rolls.mark(desk, frame_id=waiting or running.last_frame(desk), film=Film.UNEXPOSED, by=press.source)
    if waiting is not None:
        await running.skip(desk, source=press.source)


async def _undo(desk: Desk, press: Press) -> None:
    await going_back.undo(desk, by=press.source)


async def _arm(desk: Desk, press: Press) -> None:
    """On and off."""
    await (arming.disarm if desk.engine().watch.armed else arming.arm)(desk, by=press.source)


async def _pause(desk: Desk, press: Press) -> None:
    """On and off."""
    await (running.resume if desk.state.paused else running.pause)(desk, by=press.source)


async def _stop(desk: Desk, press: Press) -> None:
    """The film where a motor moves it; the next exposure in any case."""
    await feeding.stop_film(desk, Nothing(), press.source)


ACTIONS: dict[str, Action] = {
    "trigger": _trigger, "retake": _retake, "skip": _skip, "unexposed": _unexposed, "undo": _undo, "arm": _arm,
    "pause": _pause, "stop": _stop,
}  # fmt: skip
"""By their names in the settings."""


class Pedal:
    """One pedal with what its gestures do (`short`, `long`, `double` to names of ACTIONS, "choose", or "none")."""

    def __init__(self, desk: Desk, gestures: Mapping[str, str]) -> None:
        self._desk = desk
        self._gestures = gestures
        self._choices = [name for name in ACTIONS if name not in gestures.values()]
        self._offered: int | None = None

    @property
    def offered(self) -> str:
        """The action that a long press would carry out now; "" where none is offered."""
        return "" if self._offered is None else self._choices[self._offered]

    async def take(self, press: Press) -> None:
        """Do what it means. What cannot be done is announced, with its own sound; nothing is raised."""
        name = self._meaning(press)
        if name not in ACTIONS:
            return
        try:
            await ACTIONS[name](self._desk, press)
        except RigdError as error:
            # Trigger and retake have announced these themselves.
            if name not in ("trigger", "retake") or not isinstance(error, Busy | NotReady | StaleCommand):
                said = Refused(error.code, error.what, error.why, error.remedy, press.source)
                self._desk.hub.notice(said)

    def withdraw(self) -> None:
        """Nothing is offered any more."""
        self._offer(None)

    def _meaning(self, press: Press) -> str:
        if press.gesture == "long" and self._film_moves():
            self._offer(None)
            return "stop"
        if self._offered is not None:
            return self._answered(press)
        name = self._gestures.get(press.gesture, "none")
        if name == "choose" and self._choices:
            self._offer(0)
            return "none"
        return name

    def _answered(self, press: Press) -> str:
        offered = self.offered
        if press.gesture == "short":
            self._offer(((self._offered or 0) + 1) % len(self._choices))
            return "none"
        self._offer(None)
        return offered if press.gesture == "long" else "none"

    def _offer(self, number: int | None) -> None:
        self._offered = number
        self._desk.hub.notice(replace(self._desk.hub.vitals, offered=self.offered))

    def _film_moves(self) -> bool:
        return self._desk.state.moving is not None and self._desk.engine().busy


async def obey(desk: Desk, pedal: Pedal, trigger: Trigger) -> None:
    """Carry out what is pressed, until cancelled. Changes of the pedal itself are nobody's orders."""
    waiting = asyncio.ensure_future(trigger.next())
    try:
        while True:
            await _pressed_or_forgotten(desk, pedal, waiting)
            if not waiting.done():
                pedal.withdraw()
                continue
            found, waiting = waiting.result(), asyncio.ensure_future(trigger.next())
            if isinstance(found, Press):
                await pedal.take(found)
    finally:
        waiting.cancel()


async def _pressed_or_forgotten(desk: Desk, pedal: Pedal, waiting: asyncio.Future[Any]) -> None:
    """Until something is pressed, or what was offered has been offered for long enough."""
    if not pedal.offered:
        await asyncio.wait([waiting])
        return
    patience = asyncio.ensure_future(desk.clock.sleep(OFFER_S))
    try:
        await asyncio.wait([waiting, patience], return_when=asyncio.FIRST_COMPLETED)
    finally:
        patience.cancel()
