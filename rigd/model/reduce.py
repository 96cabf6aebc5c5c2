"""The fold: `reduce(state, committed) -> state`. Pure; the same events always give the same state.

Each kind of event has one small function here; `web/state/reduce.js` mirrors it, held equal by shared vectors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from msgspec.structs import replace

from rigd.model import events as ev
from rigd.model import events_watch as watch
from rigd.model.copies import changed_frame, changed_take, done_with, with_frame, with_roll, with_take
from rigd.model.reduce_exposing import EXPOSING_STEPS, released
from rigd.model.reduce_feed import FEED_STEPS
from rigd.model.reduce_later import LATER_STEPS
from rigd.model.state import Back, FrameState, RollState, State
from rigd.model.values import Strip, Take
from rigd.model.words import Stage

Step = Callable[[State, Any], State]

# No frame takes three minutes, the change of a strip included (by hand about 15 s a frame, common practice): what is
# longer is a break, and no part of the cadence.
BREAK_S = 180.0


def reduce(state: State, committed: ev.Committed) -> State:
    """The state after one more committed event.

    Args:
        state: the fold of everything before it.
        committed: the next event; its `seq` must be `state.seq + 1`.
    """
    step = _STEPS.get(type(committed.event))
    after = step(state, committed.event) if step else state
    return _clocked(replace(after, seq=committed.seq), committed)


def fold(events: Iterable[ev.Committed], start: State | None = None) -> State:
    """All events, one after the other, on top of `start` (an empty ledger by default)."""
    state = start or State()
    for committed in events:
        state = reduce(state, committed)
    return state


def _clocked(state: State, committed: ev.Committed) -> State:
    """Keep the times of takes and rolls: the cadence comes from them."""
    event = committed.event
    if isinstance(event, ev.Exposed):
        return changed_take(state, event.take_id, at=committed.at)
    if not isinstance(event, ev.Stored):
        return state
    take = state.take(event.take_id)
    roll = state.roll_of(take.frame_id) if take and take.frame_id else None
    return state if take is None or roll is None else with_roll(state, _paced(roll, take, committed.at))


def _paced(roll: RollState, take: Take, at: datetime) -> RollState:
    gap = (at - roll.last_at).total_seconds() if roll.last_at else -1.0
    timed = replace(roll, first_at=roll.first_at or at, last_at=at)
    if not 0 <= gap <= BREAK_S:
        return timed
    others = (roll.takes[t] for t in roll.frames[take.frame_id or ""].takes if t != take.take_id and t in roll.takes)
    fresh = not any(other.path for other in others)
    return replace(timed, worked_s=roll.worked_s + gap, paced=roll.paced + fresh)


# -- one function an event -----------------------------------------------------------------------------------


def _job_opened(state: State, e: ev.JobOpened) -> State:
    return replace(state, job=e.job)


def _setup_described(state: State, e: ev.SetupDescribed) -> State:
    fresh = state.setup is None or state.setup.setup_id != e.setup.setup_id
    described = replace(state, setup=e.setup, rolls=released(state.rolls) if fresh else state.rolls)
    return replace(described, lamp=None, next_shutter_s=None, gear=None) if fresh else described


def _lamp_measured(state: State, e: ev.LampMeasured) -> State:
    return replace(state, lamp=e)


def _roll_planned(state: State, e: ev.RollPlanned) -> State:
    known = state.rolls.get(e.roll.roll_id)
    if known is not None:
        return with_roll(state, replace(known, roll=e.roll))
    place = state.roll_count + 1
    return with_roll(replace(state, roll_count=place), RollState(e.roll, place=place))


def _roll_changed(state: State, e: ev.RollChanged) -> State:
    roll = state.rolls.get(e.roll.roll_id)
    return state if roll is None else with_roll(state, replace(roll, roll=e.roll))


def _roll_opened(state: State, e: ev.RollOpened) -> State:
    opened = replace(state, roll_id=e.roll_id, strip_id=None, frame_id=None, next_place=None, back=None)
    return with_roll(opened, replace(opened.rolls[e.roll_id], closed=False))


def _roll_closed(state: State, e: ev.RollClosed) -> State:
    closed = with_roll(state, replace(state.rolls[e.roll_id], closed=True))
    if state.roll_id != e.roll_id:
        return closed
    return replace(closed, strip_id=None, frame_id=None, next_place=None, back=None)


def _strip_loaded(state: State, e: ev.StripLoaded) -> State:
    roll = state.rolls[e.strip.roll_id]
    known = e.strip.strip_id in roll.strips
    place = _first_free(roll, e.strip)
    loaded = with_roll(state, replace(roll, strips={**roll.strips, e.strip.strip_id: e.strip}))
    count = state.strip_count + (not known)
    return replace(
        loaded, roll_id=e.strip.roll_id, strip_id=e.strip.strip_id if place else None, frame_id=None, next_place=place,
        strip_count=count, back=None, moving=None,
    )  # fmt: skip


def _first_free(roll: RollState, strip: Strip) -> int | None:
    """The place after the furthest one that was reached on the strip; None if it is through."""
    place = 1 + max((f.frame.place for f in roll.frames.values() if f.frame.strip_id == strip.strip_id), default=0)
    return place if strip.places is None or place <= strip.places else None


def _frame_placed(state: State, e: ev.FramePlaced) -> State:
    placed = with_frame(state, FrameState(e.frame))
    return replace(
        placed,
        roll_id=e.frame.roll_id,
        strip_id=e.frame.strip_id,
        frame_id=e.frame.frame_id,
        frame_count=state.frame_count + 1,
        back=None,
    )


def _frame_recalled(state: State, e: ev.FrameRecalled) -> State:
    roll = state.roll_of(e.frame_id)
    if roll is None:
        return state
    back, place = _way_back(state, e.frame_id)
    strip_id, roll_id = roll.frames[e.frame_id].frame.strip_id, roll.roll.roll_id
    return replace(state, roll_id=roll_id, strip_id=strip_id, frame_id=e.frame_id, next_place=place, back=back)


def _way_back(state: State, frame_id: str) -> tuple[Back | None, int | None]:
    """Where the film goes on after a recalled frame, and the place that comes next meanwhile."""
    back = state.back
    if back is None:
        here = Back(frame_id, state.roll_id, state.strip_id, state.frame_id, state.next_place)
        return (None if state.frame_id == frame_id else here), state.next_place
    if back.frame_id == frame_id:  # it had been left for another one: that is over
        return None, back.next_place
    return replace(back, of=frame_id), state.next_place


def _exposure_intended(state: State, e: ev.ExposureIntended) -> State:
    take = Take(e.take_id, e.frame_id, e.purpose, e.number, e.want, roll_id=e.roll_id, strip_id=e.strip_id)
    state = replace(with_take(state, take), working=e.take_id, take_count=state.take_count + 1)
    roll = state.roll_of(e.frame_id) if e.frame_id else None
    if roll is None or e.frame_id is None:
        return state
    frame = roll.frames[e.frame_id]
    return with_frame(state, replace(frame, takes=(*frame.takes, e.take_id), skipped=False))


def _exposed(state: State, e: ev.Exposed) -> State:
    return changed_take(state, e.take_id, stage=Stage.EXPOSED, files=e.files)


def _fetched(state: State, e: ev.Fetched) -> State:
    return changed_take(state, e.take_id, stage=Stage.FETCHED, bytes=e.bytes)


def _stored(state: State, e: ev.Stored) -> State:
    state = changed_take(state, e.take_id, stage=Stage.STORED, path=e.path, sha256=e.sha256, bytes=e.bytes)
    take = state.take(e.take_id)
    # A take of no frame is not judged for exposure: safe is its end.
    return done_with(state, e.take_id) if take is not None and take.frame_id is None else state


def _judged(state: State, e: ev.Judged) -> State:
    judged = changed_take(state, e.take_id, stage=Stage.JUDGED, verdict=e.verdict, decision=e.decision, why=e.why)
    state = done_with(judged, e.take_id)
    carried = e.next_shutter_s if e.next_shutter_s is not None else state.next_shutter_s
    return replace(state, next_shutter_s=carried)


def _take_lost(state: State, e: ev.TakeLost) -> State:
    return done_with(changed_take(state, e.take_id, stage=Stage.LOST, lost_why=e.why), e.take_id)


def _keeper_chosen(state: State, e: ev.KeeperChosen) -> State:
    return changed_frame(
        state, e.frame_id, keeper=e.takes, film=e.film, by=e.by, skipped=False, judged=e.film, marks=(), again="",
        doubt="", accepted=e.by != "rigd",
    )  # fmt: skip


def _frame_skipped(state: State, e: ev.FrameSkipped) -> State:
    return changed_frame(state, e.frame_id, skipped=True)


def _advanced(state: State, e: ev.Advanced) -> State:
    back = state.back
    if back is not None and back.of == e.frame_id:
        return replace(state, roll_id=back.roll_id, strip_id=back.strip_id, frame_id=back.frame_id,
                       next_place=back.next_place, back=None)  # fmt: skip
    strip_id = state.strip_id if e.next_place else None
    return replace(state, frame_id=None, strip_id=strip_id, next_place=e.next_place, back=None)


def _verified(state: State, e: ev.Verified) -> State:
    return changed_take(state, e.take_id, verified=True)


def _damaged(state: State, e: ev.Damaged) -> State:
    return changed_take(state, e.take_id, verified=False, lost_why=e.why)


def _camera_joined(state: State, e: ev.CameraJoined) -> State:
    return replace(state, camera=e.model, serial=e.serial)


def _troubled(state: State, e: ev.Troubled) -> State:
    return replace(state, trouble=e)


def _trouble_over(state: State, e: ev.TroubleOver) -> State:
    return replace(state, trouble=None)


def _paused(state: State, e: ev.Paused) -> State:
    return replace(state, paused=True)


def _resumed(state: State, e: ev.Resumed) -> State:
    return replace(state, paused=False)


def _armed(state: State, e: watch.Armed) -> State:
    return replace(state, armed=True, disarmed="")


def _disarmed(state: State, e: watch.Disarmed) -> State:
    return replace(state, armed=False, disarmed=e.why if e.by == "rigd" else "")


_STEPS: dict[type[Any], Step] = {
    ev.JobOpened: _job_opened,
    ev.SetupDescribed: _setup_described,
    ev.LampMeasured: _lamp_measured,
    ev.RollPlanned: _roll_planned,
    ev.RollChanged: _roll_changed,
    ev.RollOpened: _roll_opened,
    ev.RollClosed: _roll_closed,
    ev.StripLoaded: _strip_loaded,
    ev.FramePlaced: _frame_placed,
    ev.FrameRecalled: _frame_recalled,
    ev.ExposureIntended: _exposure_intended,
    ev.Exposed: _exposed,
    ev.Fetched: _fetched,
    ev.Stored: _stored,
    ev.Judged: _judged,
    ev.TakeLost: _take_lost,
    ev.KeeperChosen: _keeper_chosen,
    ev.FrameSkipped: _frame_skipped,
    ev.Advanced: _advanced,
    ev.Verified: _verified,
    ev.Damaged: _damaged,
    ev.CameraJoined: _camera_joined,
    ev.Troubled: _troubled,
    ev.TroubleOver: _trouble_over,
    ev.Paused: _paused,
    ev.Resumed: _resumed,
    watch.Armed: _armed,
    watch.Disarmed: _disarmed,
    **LATER_STEPS,
    **FEED_STEPS,
    **EXPOSING_STEPS,
}
