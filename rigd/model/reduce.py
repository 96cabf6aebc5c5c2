"""The fold: `reduce(state, committed) -> state`. Pure; the same events always give the same state.

Each kind of event has one small function here; `web/state/reduce.js` mirrors it, held equal by shared vectors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from msgspec.structs import replace

from rigd.model import events as ev
from rigd.model.state import FrameState, RollState, State
from rigd.model.values import Take
from rigd.model.words import Stage

Step = Callable[[State, Any], State]


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


# -- helpers: copies with one thing changed --------------------------------------------------------------


def _clocked(state: State, committed: ev.Committed) -> State:
    """Keep the time of the first and last stored take of the current roll: the cadence comes from them."""
    if not isinstance(committed.event, ev.Stored) or state.roll is None:
        return state
    roll = state.roll
    return _with_roll(state, replace(roll, first_at=roll.first_at or committed.at, last_at=committed.at))


def _with_roll(state: State, roll: RollState) -> State:
    return replace(state, rolls={**state.rolls, roll.roll.roll_id: roll})


def _with_frame(state: State, frame: FrameState) -> State:
    roll = state.rolls[frame.frame.roll_id]
    return _with_roll(state, replace(roll, frames={**roll.frames, frame.frame.frame_id: frame}))


def _with_take(state: State, take: Take) -> State:
    roll = state.roll_of(take.frame_id) if take.frame_id else None
    if roll is None:
        return replace(state, loose={**state.loose, take.take_id: take})
    return _with_roll(state, replace(roll, takes={**roll.takes, take.take_id: take}))


def _changed_take(state: State, take_id: str, **changes: Any) -> State:
    take = state.take(take_id)
    return state if take is None else _with_take(state, replace(take, **changes))


def _changed_frame(state: State, frame_id: str, **changes: Any) -> State:
    roll = state.roll_of(frame_id)
    return state if roll is None else _with_frame(state, replace(roll.frames[frame_id], **changes))


def _done_with(state: State, take_id: str) -> State:
    return replace(state, working=None) if state.working == take_id else state


# -- one function an event -----------------------------------------------------------------------------------


def _job_opened(state: State, e: ev.JobOpened) -> State:
    return replace(state, job=e.job)


def _setup_described(state: State, e: ev.SetupDescribed) -> State:
    fresh = state.setup is None or state.setup.setup_id != e.setup.setup_id
    return replace(state, setup=e.setup, lamp=None if fresh else state.lamp,
                   next_shutter_s=None if fresh else state.next_shutter_s)  # fmt: skip


def _lamp_measured(state: State, e: ev.LampMeasured) -> State:
    return replace(state, lamp=e)


def _roll_planned(state: State, e: ev.RollPlanned) -> State:
    return _with_roll(state, RollState(e.roll))


def _roll_changed(state: State, e: ev.RollChanged) -> State:
    roll = state.rolls.get(e.roll.roll_id)
    return state if roll is None else _with_roll(state, replace(roll, roll=e.roll))


def _roll_opened(state: State, e: ev.RollOpened) -> State:
    opened = replace(state, roll_id=e.roll_id, strip_id=None, frame_id=None, next_place=None)
    return _with_roll(opened, replace(opened.rolls[e.roll_id], closed=False))


def _roll_closed(state: State, e: ev.RollClosed) -> State:
    closed = _with_roll(state, replace(state.rolls[e.roll_id], closed=True))
    return replace(closed, strip_id=None, frame_id=None, next_place=None) if state.roll_id == e.roll_id else closed


def _strip_loaded(state: State, e: ev.StripLoaded) -> State:
    roll = state.rolls[e.strip.roll_id]
    known = e.strip.strip_id in roll.strips
    loaded = _with_roll(state, replace(roll, strips={**roll.strips, e.strip.strip_id: e.strip}))
    count = state.strip_count + (not known)
    return replace(
        loaded, roll_id=e.strip.roll_id, strip_id=e.strip.strip_id, frame_id=None, next_place=1, strip_count=count
    )


def _frame_placed(state: State, e: ev.FramePlaced) -> State:
    placed = _with_frame(state, FrameState(e.frame))
    return replace(
        placed,
        roll_id=e.frame.roll_id,
        strip_id=e.frame.strip_id,
        frame_id=e.frame.frame_id,
        frame_count=state.frame_count + 1,
    )


def _frame_recalled(state: State, e: ev.FrameRecalled) -> State:
    roll = state.roll_of(e.frame_id)
    if roll is None:
        return state
    strip_id = roll.frames[e.frame_id].frame.strip_id
    return replace(state, roll_id=roll.roll.roll_id, strip_id=strip_id, frame_id=e.frame_id)


def _exposure_intended(state: State, e: ev.ExposureIntended) -> State:
    take = Take(e.take_id, e.frame_id, e.purpose, e.number, e.want)
    state = replace(_with_take(state, take), working=e.take_id, take_count=state.take_count + 1)
    roll = state.roll_of(e.frame_id) if e.frame_id else None
    if roll is None or e.frame_id is None:
        return state
    frame = roll.frames[e.frame_id]
    return _with_frame(state, replace(frame, takes=(*frame.takes, e.take_id), skipped=False))


def _exposed(state: State, e: ev.Exposed) -> State:
    return _changed_take(state, e.take_id, stage=Stage.EXPOSED, files=e.files)


def _fetched(state: State, e: ev.Fetched) -> State:
    return _changed_take(state, e.take_id, stage=Stage.FETCHED, bytes=e.bytes)


def _stored(state: State, e: ev.Stored) -> State:
    state = _changed_take(state, e.take_id, stage=Stage.STORED, path=e.path, sha256=e.sha256, bytes=e.bytes)
    # A take of no frame is not judged for exposure: safe is its end.
    return _done_with(state, e.take_id) if e.take_id in state.loose else state


def _judged(state: State, e: ev.Judged) -> State:
    judged = _changed_take(
        state, e.take_id, stage=Stage.JUDGED, verdict=e.verdict, decision=e.decision, why=e.why
    )
    state = _done_with(judged, e.take_id)
    carried = e.next_shutter_s if e.next_shutter_s is not None else state.next_shutter_s
    return replace(state, next_shutter_s=carried)


def _take_lost(state: State, e: ev.TakeLost) -> State:
    return _done_with(_changed_take(state, e.take_id, stage=Stage.LOST, lost_why=e.why), e.take_id)


def _keeper_chosen(state: State, e: ev.KeeperChosen) -> State:
    return _changed_frame(state, e.frame_id, keeper=e.takes, film=e.film, by=e.by, skipped=False)


def _frame_marked(state: State, e: ev.FrameMarked) -> State:
    return _changed_frame(state, e.frame_id, film=e.film, by=e.by)


def _frame_skipped(state: State, e: ev.FrameSkipped) -> State:
    return _changed_frame(state, e.frame_id, skipped=True)


def _move_intended(state: State, e: ev.MoveIntended) -> State:
    return replace(state, moving=e.frame_id)


def _advanced(state: State, e: ev.Advanced) -> State:
    strip_id = state.strip_id if e.next_place else None
    return replace(state, frame_id=None, moving=None, strip_id=strip_id, next_place=e.next_place)


def _verified(state: State, e: ev.Verified) -> State:
    return _changed_take(state, e.take_id, verified=True)


def _damaged(state: State, e: ev.Damaged) -> State:
    return _changed_take(state, e.take_id, verified=False, lost_why=e.why)


def _unclaimed(state: State, e: ev.Unclaimed) -> State:
    return replace(state, unclaimed=state.unclaimed + 1)


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
    ev.FrameMarked: _frame_marked,
    ev.FrameSkipped: _frame_skipped,
    ev.MoveIntended: _move_intended,
    ev.Advanced: _advanced,
    ev.Verified: _verified,
    ev.Damaged: _damaged,
    ev.Unclaimed: _unclaimed,
    ev.CameraJoined: _camera_joined,
    ev.Troubled: _troubled,
    ev.TroubleOver: _trouble_over,
    ev.Paused: _paused,
    ev.Resumed: _resumed,
}
