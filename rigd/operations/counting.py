"""Verbs that count: a roll by strip and frame, the job, whether it comes out even, and the time that is left."""

from __future__ import annotations

from msgspec import Struct

from rigd.errors import NotFound
from rigd.model.order import numbers, strips_in_order
from rigd.model.pace import Estimate, cadence, estimate
from rigd.model.reconcile import Account, account_job, account_roll, account_strip
from rigd.model.state import FrameState, RollState
from rigd.model.tally import Tally, is_retaken, is_suspect, kind_of, tally, tally_strip
from rigd.model.values import Roll, Strip
from rigd.model.words import Film
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll
from rigd.operations.verb import Args, Nothing, Verb


class OfRoll(Args, frozen=True):
    """`roll`: id or label; left out, the current one."""

    roll: str | None = None


class OfStrip(Args, frozen=True):
    """`strip`: its number; left out, the whole roll."""

    roll: str | None = None
    strip: int | None = None


class FrameCount(Struct, frozen=True):
    """One frame: its `number` on the roll in the order of the film, where it lies, what it counts as, and why somebody
    should look at it. `files` are those of the takes that count."""

    frame_id: str
    number: int
    strip: int
    place: int
    mark: str
    kind: str
    film: Film | None
    takes: int
    retaken: bool
    suspect: bool
    again: str
    doubt: str
    why: str
    files: tuple[str, ...]


class StripCount(Struct, frozen=True):
    strip: Strip
    tally: Tally


class RollCount(Struct, frozen=True):
    """One roll, by strip and by frame, in the order of the film. `cadence_s` seconds a frame, breaks left out; None
    while too few were timed."""

    roll: Roll
    closed: bool
    tally: Tally
    strips: tuple[StripCount, ...]
    frames: tuple[FrameCount, ...]
    cadence_s: float | None


class JobCount(Struct, frozen=True):
    """The whole job. `unknown` rolls of which nobody has said how many frames they hold; `left`: what is to come."""

    rolls: int
    closed: int
    unknown: int
    tally: Tally
    left: Estimate


async def count_roll(desk: Desk, args: OfRoll, by: str) -> RollCount:
    """The tally of one roll, by strip and by frame."""
    roll = await known_roll(desk, args.roll)
    order = numbers(roll)
    frames = tuple(_frame(roll, roll.frames[frame_id], number) for frame_id, number in order.items())
    strips = tuple(StripCount(strip, tally_strip(roll, strip.strip_id)) for strip in strips_in_order(roll))
    return RollCount(roll.roll, roll.closed, tally(roll), strips, frames, cadence(roll.worked_s, roll.paced))


async def count_job(desk: Desk, args: Nothing, by: str) -> JobCount:
    """The tally of the whole job, and the time that is left at its own pace."""
    totals = await desk.hub.look.job()
    return JobCount(totals.rolls, totals.closed, totals.unknown, totals.tally, estimate(totals.done, totals.left))


async def account(desk: Desk, args: OfStrip, by: str) -> Account:
    """Whether a roll, or one of its strips, comes out even; what is off, and how to settle it."""
    roll = await known_roll(desk, args.roll)
    if args.strip is None:
        return account_roll(roll)
    strip = next((s for s in roll.strips.values() if s.number == args.strip), None)
    if strip is None:
        raise NotFound(f"Roll {roll.roll.label} has no strip {args.strip}.", "", "See: rigd rolls tally --by strip.")
    return account_strip(roll, strip)


async def account_whole(desk: Desk, args: Nothing, by: str) -> Account:
    """Whether the whole job comes out even."""
    totals = await desk.hub.look.job()
    title = desk.state.job.title if desk.state.job else "The job"
    return account_job(title, totals.rolls, totals.closed, totals.unknown, totals.tally)


def _frame(roll: RollState, frame: FrameState, number: int) -> FrameCount:
    at = frame.frame
    keepers = [roll.takes[t] for t in frame.keeper if t in roll.takes]
    told = keepers or [roll.takes[t] for t in frame.takes[-1:] if t in roll.takes]
    verdict = told[0].verdict if told else None
    return FrameCount(
        at.frame_id, number, roll.strips[at.strip_id].number, at.place, at.mark, kind_of(frame), frame.film,
        len(frame.takes), is_retaken(frame), is_suspect(frame, roll), frame.again, frame.doubt,
        verdict.why if verdict else "", tuple(t.path for t in keepers),
    )  # fmt: skip


ROLL = Verb("tally/roll", OfRoll, RollCount, count_roll, OfRoll("r-0001"), reads=True)
JOB = Verb("tally/job", Nothing, JobCount, count_job, Nothing(), reads=True)
ACCOUNT = Verb("tally/account", OfStrip, Account, account, OfStrip("r-0001", 2), reads=True)
WHOLE = Verb("tally/account-job", Nothing, Account, account_whole, Nothing(), reads=True)

VERBS = (ROLL, JOB, ACCOUNT, WHOLE)
