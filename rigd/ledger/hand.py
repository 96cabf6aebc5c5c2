"""Which rolls are in hand: those that the next events speak of are fetched, those that nobody touched for long go.

The fold of a job of a million takes does not fit into memory, and copying a dict of 28,000 rolls at every event takes
0.7 ms. A roll that is out of hand is read from the newest checkpoint, which has it as it is: it was saved before it
went, and nothing can change it without fetching it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from rigd.ledger import checkpoint
from rigd.model.events import AnyEvent
from rigd.model.state import RollState, State
from rigd.model.values import Frame, Roll, Strip, Take

# More rolls than are worked on in an evening (about 40 at three minutes each, common practice), a few MB of memory.
ROLLS_IN_HAND = 64


def things_of(event: AnyEvent) -> tuple[set[str], set[str]]:
    """What an event speaks of: ids of rolls; ids of strips, frames and takes."""
    rolls: set[str] = set()
    things: set[str] = set()
    for name in event.__struct_fields__:
        _look_at(name, getattr(event, name), rolls, things)
    return rolls, things


def _look_at(name: str, value: object, rolls: set[str], things: set[str]) -> None:
    match value:
        case None:
            pass
        case Roll() | Strip() | Frame() | Take():
            for inner in ("roll_id", "strip_id", "frame_id", "take_id"):
                _look_at(inner, getattr(value, inner, None), rolls, things)
        case str() if name == "roll_id":
            rolls.add(value)
        case str() if name in ("strip_id", "frame_id", "take_id"):
            things.add(value)
        case tuple() if name in ("strips", "frames", "was"):
            for one in value:
                _look_at(name, one, rolls, things)
        case tuple() if name == "frame_ids":
            things.update(value)
        case dict() if name in ("marks", "about"):
            things.update(value)


class CopyDamaged(Exception):
    """The copy of a roll that is out of hand cannot be read: the events behind it must be read instead."""


class Fetched(Struct, frozen=True):
    """Rolls that were fetched for an event, as the newest checkpoint has them, and the ids of all that it meant."""

    rolls: tuple[RollState, ...]
    meant: frozenset[str]


class Hand:
    """The rolls in hand of one ledger. `limit`: how many may stay."""

    def __init__(self, limit: int = ROLLS_IN_HAND) -> None:
        self.limit = limit
        self._stored: dict[str, RollState] = {}
        self._used: dict[str, int] = {}

    def begin(self, state: State) -> None:
        """These rolls are in hand, as the newest checkpoint has them."""
        self._stored = dict(state.rolls)
        self._used = dict.fromkeys(state.rolls, state.seq)

    def brought(self, db: sqlite3.Connection, state: State, saved: int, event: AnyEvent) -> tuple[State, Fetched]:
        """The state with every roll in hand that `event` may change or read, and what had to be fetched for it.

        Args:
            saved: the event number of the newest checkpoint that counts, 0 for none.

        Raises:
            CopyDamaged: the copy of a roll cannot be read.
        """
        rolls, things = things_of(event)
        lacking = {roll_id for roll_id in rolls if roll_id not in state.rolls}
        for thing in things:
            if not _in_hand(state, thing):
                lacking.update(i for i in homes(db, thing) if i not in state.rolls)
        found = [roll for i in sorted(lacking) if (roll := read_roll(db, i, saved)) is not None]
        if found:
            state = replace(state, rolls={**state.rolls, **{roll.roll.roll_id: roll for roll in found}})
        return state, Fetched(tuple(found), frozenset(rolls | lacking))

    def took(self, fetched: Fetched, state: State) -> None:
        """The event for which these were fetched has been folded."""
        for roll in fetched.rolls:
            self._stored[roll.roll.roll_id] = roll
        for roll_id in (*fetched.meant, state.roll_id):
            if roll_id is not None:
                self._used[roll_id] = state.seq

    def changed(self, state: State) -> list[RollState]:
        """The rolls that are not as the newest checkpoint has them."""
        return [roll for roll_id, roll in state.rolls.items() if self._stored.get(roll_id) is not roll]

    def dropped(self, state: State) -> list[str]:
        """Rolls that a checkpoint has and that are no more."""
        return [roll_id for roll_id in self._stored if roll_id not in state.rolls]

    def saved(self, state: State) -> State:
        """After a checkpoint: the state without the rolls that nobody touched for longest."""
        over = len(state.rolls) - self.limit
        stay = {state.roll_id, state.back.roll_id if state.back else None, _at_work(state)}
        may_go = sorted((i for i in state.rolls if i not in stay), key=lambda i: self._used.get(i, 0))
        go = set(may_go[: max(0, over)])
        rolls = {i: roll for i, roll in state.rolls.items() if i not in go}
        self._stored = dict(rolls)
        self._used = {i: used for i, used in self._used.items() if i in rolls}
        return replace(state, rolls=rolls) if go else state


def homes(db: sqlite3.Connection, thing: str) -> Iterator[str]:
    """The roll that a strip, frame or take is of, and those it was of before it was moved."""
    query = (
        "SELECT roll_id FROM frame WHERE frame_id = ?1 UNION SELECT roll_id FROM take WHERE take_id = ?1 "
        "UNION SELECT roll_id FROM strip WHERE strip_id = ?1 UNION SELECT roll_id FROM been WHERE thing = ?1"
    )
    return (row[0] for row in db.execute(query, (thing,)).fetchall() if row[0] is not None)


def read_roll(db: sqlite3.Connection, roll_id: str, saved: int) -> RollState | None:
    """A roll from the newest checkpoint. Raises CopyDamaged if its copy cannot be read."""
    try:
        return checkpoint.load_roll(db, roll_id, saved)
    except msgspec.DecodeError as error:
        raise CopyDamaged(roll_id) from error


def all_rolls(db: sqlite3.Connection, state: State, saved: int) -> Iterable[RollState]:
    """Every roll of the job, in hand or not, in the order of planning."""
    out = (i for i in checkpoint.roll_ids(db, saved) if i not in state.rolls)
    there = [(roll.place, roll.roll.roll_id) for roll in state.rolls.values()]
    order = sorted([*there, *_places(db, saved, set(out))])
    for _, roll_id in order:
        roll = state.rolls.get(roll_id) or read_roll(db, roll_id, saved)
        if roll is not None:
            yield roll


def _places(db: sqlite3.Connection, saved: int, ids: set[str]) -> list[tuple[int, str]]:
    rows = db.execute("SELECT DISTINCT place, roll_id FROM checkpoint_roll WHERE seq <= ?", (saved,)).fetchall()
    return [(place, roll_id) for place, roll_id in rows if roll_id in ids]


def _in_hand(state: State, thing: str) -> bool:
    roll = state.roll
    if roll is not None and (thing in roll.takes or thing in roll.frames or thing in roll.strips):
        return True
    if thing in state.loose:
        return True
    return any(thing in r.takes or thing in r.frames or thing in r.strips for r in state.rolls.values())


def _at_work(state: State) -> str | None:
    take = state.take(state.working) if state.working else None
    roll = state.roll_of(take.frame_id) if take and take.frame_id else None
    return roll.roll.roll_id if roll else None
