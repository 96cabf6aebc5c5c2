"""Telling a job again: the events that lead to rolls as they are known, for a ledger that is built anew. Pure.

Every one of them is what rigd itself would have committed, in an order that it could have happened in; what is told
without its own time has the time of the take before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.events_exposing import ShutterHeld
from rigd.model.state import FrameState, RollState
from rigd.model.values import About, Take
from rigd.model.words import Decision, Film, Stage

Told = tuple[datetime | None, ev.AnyEvent]

_GONE = "It had not been stored when the ledger was lost."


def told_again(rolls: Iterable[RollState], loose: Iterable[Take] = ()) -> Iterator[Told]:
    """Events for these rolls, in the order in which they were planned, and for takes of no film."""
    known = sorted(rolls, key=lambda roll: (roll.place, roll.roll.roll_id))
    for roll in known:
        yield None, ev.RollPlanned(roll.roll)
        if roll.strips:
            yield None, late.StripsChanged(tuple(sorted(roll.strips.values(), key=lambda s: _by_id(s.strip_id))))
        for frame in sorted(roll.frames.values(), key=lambda f: _by_id(f.frame.frame_id)):
            yield None, ev.FramePlaced(frame.frame)
    takes = [take for roll in known for take in roll.takes.values()]
    for take in sorted([*takes, *loose], key=lambda t: _by_id(t.take_id)):
        yield from ((take.at, event) for event in _take(take))
    for roll in known:
        for frame in roll.frames.values():
            yield from ((None, event) for event in _words(frame))
        if roll.heeded:
            yield None, late.BaseHeeded(roll.roll.roll_id, roll.heeded, "rebuilt")
        if roll.held is not None:
            yield None, ShutterHeld(roll.roll.roll_id, roll.held, "rebuilt")
    for roll in known:
        if roll.closed:
            yield None, ev.RollClosed(roll.roll.roll_id)
    yield from ((None, event) for event in _where_it_stood(known))


def _by_id(number: str) -> tuple[int, str]:
    """Ids in the order in which they were given: beyond their usual width they grow longer."""
    return len(number), number


def _take(take: Take) -> Iterator[ev.AnyEvent]:
    t = take.take_id
    yield ev.ExposureIntended(t, take.frame_id, take.purpose, take.number, take.want, take.roll_id, take.strip_id)
    if take.stage is Stage.LOST or not take.path:
        yield ev.TakeLost(t, take.lost_why or _GONE)
        return
    yield ev.Exposed(t, take.want.shutter_s, take.files)
    yield ev.Fetched(t, "", take.bytes)
    yield ev.Stored(t, take.path, take.sha256, take.bytes)
    if take.verdict is not None:
        yield ev.Judged(t, take.verdict, take.decision or Decision.KEEP, take.why)
    if take.lost_why:
        yield ev.Damaged(t, take.lost_why)
    if take.verified:
        yield ev.Verified(t)
    for to in take.copied:
        yield late.Copied(t, to)
    if take.cleared:
        yield late.CardCleared(t, take.files[0].name if take.files else "", "rebuilt")


def _words(frame: FrameState) -> Iterator[ev.AnyEvent]:
    """What was said of a frame, so that the last word on each thing is the one that is known."""
    f = frame.frame.frame_id
    if frame.keeper or frame.judged is not None:
        by = frame.by if frame.accepted and not frame.marks else "rigd"
        yield ev.KeeperChosen(f, frame.keeper, frame.judged or Film.PICTURE, by)
    for film in frame.marks:
        yield ev.FrameMarked(f, film, frame.by)
    if frame.accepted:
        yield late.FramesAccepted((f,), frame.by)
    if frame.doubt:
        yield late.FramesDoubted((f,), frame.doubt)
    if frame.again:
        yield late.FramesWanted((f,), frame.again, frame.by)
    if frame.about != About():
        yield late.FramesDescribed({f: frame.about}, frame.by)
    if frame.skipped:
        yield ev.FrameSkipped(f)


def _where_it_stood(rolls: list[RollState]) -> Iterator[ev.AnyEvent]:
    """The roll that was worked on last is open again, its last strip in the gate: the job goes on after its last
    frame."""
    worked = [roll for roll in rolls if roll.last_at is not None]
    if not worked:
        return
    last = max(worked, key=lambda roll: roll.last_at.timestamp() if roll.last_at else 0.0)
    yield ev.RollOpened(last.roll.roll_id)
    if last.closed:
        yield ev.RollClosed(last.roll.roll_id)
    elif last.frames:
        newest = max(last.frames.values(), key=lambda f: _by_id(f.frame.frame_id))
        yield ev.StripLoaded(last.strips[newest.frame.strip_id])
