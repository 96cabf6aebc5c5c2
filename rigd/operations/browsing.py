"""Verbs that page through the rolls of a job, however many there are."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from rigd.ledger import RollTotals
from rigd.model.pace import cadence, to_go
from rigd.model.tally import Tally
from rigd.model.values import Roll
from rigd.operations.desk import Desk
from rigd.operations.verb import Args, Verb

# A page of the list: what is scrolled through in one go (value chosen by hand).
PAGE = 40


class Browse(Args, frozen=True):
    """`after`: a roll's place in the order of planning; `words`: all of them stand in its plan; `kind`: unfinished,
    look (frames in doubt, skipped, open or to be taken again), missing (frames are lacking); left out, all rolls."""

    after: int = 0
    limit: int = PAGE
    words: tuple[str, ...] = ()
    kind: Literal["", "unfinished", "look", "missing"] = ""


class Browsed(Struct, frozen=True):
    """One roll of the list. `cadence_s` seconds a frame, None while too few were timed; `to_go` frames to come, None
    where nobody can know."""

    roll: Roll
    tally: Tally
    closed: bool
    current: bool
    place: int
    cadence_s: float | None
    to_go: int | None


class Page(Struct, frozen=True):
    """`more`: there are rolls after these."""

    rolls: tuple[Browsed, ...]
    more: bool


async def browse(desk: Desk, args: Browse, by: str) -> Page:
    """Rolls in the order of planning, a page at a time."""
    limit = min(200, max(1, args.limit))
    found = await desk.hub.look.lines(args.after, limit + 1, args.words, args.kind)
    return Page(tuple(_browsed(desk, line) for line in found[:limit]), len(found) > limit)


def _browsed(desk: Desk, line: RollTotals) -> Browsed:
    left = 0 if line.closed else to_go(line.roll, line.tally)
    return Browsed(
        line.roll, line.tally, line.closed, line.roll_id == desk.state.roll_id, line.place,
        cadence(line.worked_s, line.paced), left,
    )  # fmt: skip


BROWSE = Verb("rolls/browse", Browse, Page, browse, Browse(words=("quay",), kind="look"), reads=True)

VERBS = (BROWSE,)
