"""How the whole job stands: sums over all of its rolls, kept up to date with each change instead of counted anew."""

from __future__ import annotations

import sqlite3

import msgspec
from msgspec import Struct

from rigd.model.pace import Done, Left, to_go
from rigd.model.tally import Tally
from rigd.model.values import Roll

_COUNTS = Tally.__struct_fields__
_decode_roll = msgspec.json.Decoder(Roll).decode


class JobTotals(Struct, frozen=True):
    """The whole job: its rolls, those that are closed, those of which nobody knows how many frames to expect, and the
    sum of their tallies (`expected` and `missing` of what is known). By film format: what was timed, what is left."""

    rolls: int
    closed: int
    unknown: int
    tally: Tally
    done: tuple[Done, ...] = ()
    left: tuple[Left, ...] = ()


class Share(Struct, frozen=True):
    """What one roll adds to the job."""

    roll: Roll
    closed: bool
    tally: Tally
    worked_s: float
    paced: int


class _Pace:
    """Sums over the rolls of one film format."""

    def __init__(self) -> None:
        self.worked_s, self.paced, self.open, self.frames, self.unknown = 0.0, 0, 0, 0, 0

    def add(self, share: Share, sign: int) -> None:
        self.worked_s += sign * share.worked_s
        self.paced += sign * share.paced
        if share.closed:
            return
        frames = to_go(share.roll, share.tally)
        self.open += sign
        self.frames += sign * (frames or 0)
        self.unknown += sign * (frames is None)


class Standing:
    """The sums. `change` takes what a roll added before and what it adds now, None where it was or is not there."""

    def __init__(self) -> None:
        self._rolls = self._closed = self._unknown = 0
        self._counts = dict.fromkeys(_COUNTS, 0)
        self._paces: dict[str, _Pace] = {}

    @classmethod
    def read(cls, db: sqlite3.Connection) -> Standing:
        """The sums over all rows."""
        found = cls()
        query = f"SELECT body, closed, worked_s, paced, {', '.join(_COUNTS)} FROM roll"
        for body, closed, worked_s, paced, *counts in db.execute(query):
            found.change(None, Share(_decode_roll(body), bool(closed), Tally(*counts), worked_s, paced))
        return found

    def change(self, was: Share | None, now: Share | None) -> None:
        for share, sign in ((was, -1), (now, 1)):
            if share is not None:
                self._add(share, sign)

    def _add(self, share: Share, sign: int) -> None:
        self._rolls += sign
        self._closed += sign * share.closed
        self._unknown += sign * (share.tally.expected is None)
        for name in _COUNTS:
            self._counts[name] += sign * (getattr(share.tally, name) or 0)
        self._paces.setdefault(share.roll.film_format, _Pace()).add(share, sign)

    def totals(self) -> JobTotals:
        paces = sorted(self._paces.items())
        done = tuple(Done(name, round(p.worked_s, 3), p.paced) for name, p in paces if p.paced)
        left = tuple(Left(name, p.frames, p.unknown) for name, p in paces if p.open)
        return JobTotals(self._rolls, self._closed, self._unknown, Tally(**self._counts), done, left)
