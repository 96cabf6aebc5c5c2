"""Committed events to everybody who listens. Nothing is published before its commit; a slow listener waits for nobody.

A listener reads the state first and applies only events with a higher `seq`: between the two nothing is lost.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Awaitable, Callable
from datetime import datetime

from msgspec import Struct

from rigd.ledger import Ledger, Looking
from rigd.model.events import AnyEvent, Committed
from rigd.model.reconcile import Account
from rigd.model.state import State


class Vitals(Struct, frozen=True, tag="vitals"):
    """What is not history: how the rig is at this moment. Never in the ledger.

    `phase`: what the cycle is doing; `frames_left`: what the disk still holds; `battery_pct` 0-100.
    `copied` of `to_copy` files have a verified second copy, None where there is to be none, and `copy_trouble` why that
    does not go on; `card_free_bytes`: what the camera's card still held when it was connected. `watch`: what is
    seen in the gate while the rig triggers by itself ("off": it does not), `where` what to do about it in words, and
    `nudge_mm` how far the film is to be slid, to the right positive, as somebody before the rig sees it. `board`: the
    film advancer, "" where none is named, `board_ok` if it answers, `board_heard` when it did so last, `board_film` if
    its sensor sees film, `board_stopped` if a stop is latched there. `lamp_level` (0 off, 1 full), `lamp_colour` and
    `lamp_warm_in_s` (0: it is warm) of a lamp that the board drives, None where there is none or it is not known.
    `card_frames_left`: how many frames the card held room for then. `offered`: the action that a long press of the
    pedal carries out now."""

    phase: str = "idle"
    camera: str = ""
    camera_ok: bool = False
    ledger_ok: bool = True
    live: bool = False
    battery_pct: int | None = None
    frames_left: int | None = None
    free_bytes: int | None = None
    copied: int | None = None
    to_copy: int | None = None
    copy_trouble: str = ""
    card_free_bytes: int | None = None
    card_frames_left: int | None = None
    watch: str = "off"
    where: str = ""
    nudge_mm: float | None = None
    board: str = ""
    board_ok: bool = False
    board_heard: datetime | None = None
    board_film: bool | None = None
    board_stopped: bool | None = None
    lamp_level: float | None = None
    lamp_colour: str = ""
    lamp_warm_in_s: float | None = None
    offered: str = ""


class Refused(Struct, frozen=True, tag="refused"):
    """A command that was not carried out: it has its own sound."""

    code: str
    what: str
    why: str
    remedy: str
    source: str = ""


class Accounted(Struct, frozen=True, tag="accounted"):
    """Whether what has just ended comes out even: a `level` of "strip", "roll" or "job"."""

    level: str
    roll_id: str
    account: Account


Notice = Vitals | Refused | Accounted


class Subscription:
    """A bounded queue of one listener. It ends when the hub closes, or with `lagged` when the listener was too slow;
    then it takes a new snapshot and subscribes again."""

    def __init__(self, limit: int) -> None:
        self.lagged = False
        self._limit = limit
        self._waiting: deque[Committed | Notice] = deque()
        self._wake = asyncio.Event()
        self._ended = False

    def put(self, item: Committed | Notice) -> None:
        """Add without waiting; over the limit the subscription ends."""
        if len(self._waiting) >= self._limit:
            self.lagged = True
            self.end()
            return
        self._waiting.append(item)
        self._wake.set()

    def end(self) -> None:
        self._ended = True
        self._wake.set()

    async def __aiter__(self) -> AsyncIterator[Committed | Notice]:
        while True:
            while self._waiting and not self.lagged:
                yield self._waiting.popleft()
            if self._ended:
                return
            self._wake.clear()
            await self._wake.wait()


class Hub:
    """The way into the ledger and out of it."""

    # A listener that is 512 events behind (a minute of work) is better served by a fresh snapshot.
    LIMIT = 512

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._listeners: set[Subscription] = set()
        self.vitals = Vitals()
        ledger.on_commit = self._told

    @property
    def state(self) -> State:
        """The fold of everything committed."""
        return self._ledger.state

    @property
    def ledger(self) -> Ledger:
        return self._ledger

    @property
    def look(self) -> Looking:
        """Look-ups in what the fold alone does not hold: rolls out of hand, totals of the job."""
        return self._ledger.look

    async def append(self, *events: AnyEvent) -> tuple[Committed, ...]:
        """Commit in one transaction, then publish. Raises what the ledger raises; then nothing is published."""
        return await self._ledger.append(*events)

    async def reopen(self) -> None:
        """Take appends again after a write of the ledger failed. Raises what opening raises."""
        await self._ledger.reopen()

    def notice(self, notice: Notice) -> None:
        """Tell the listeners something that is not history; vitals are kept for the next snapshot."""
        if isinstance(notice, Vitals):
            if notice == self.vitals:
                return
            self.vitals = notice
        self._publish(notice)

    def subscribe(self, limit: int = LIMIT) -> Subscription:
        subscription = Subscription(limit)
        self._listeners.add(subscription)
        return subscription

    def leave(self, subscription: Subscription) -> None:
        self._listeners.discard(subscription)

    async def follow(self, hear: Callable[[Subscription], Awaitable[None]]) -> None:
        """Let `hear` listen until the hub closes. Where it fell behind it is called again with a new subscription, and
        asks the state or the ledger for what it missed."""
        lagged = True
        while lagged:
            listener = self.subscribe()
            try:
                await hear(listener)
            finally:
                self.leave(listener)
            lagged = listener.lagged

    def close(self) -> None:
        """End every subscription."""
        for listener in tuple(self._listeners):
            listener.end()

    def _told(self, committed: tuple[Committed, ...]) -> None:
        for one in committed:
            self._publish(one)

    def _publish(self, item: Committed | Notice) -> None:
        for listener in tuple(self._listeners):
            listener.put(item)
            if listener.lagged:
                self._listeners.discard(listener)
