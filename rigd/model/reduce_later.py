"""The fold of second thoughts: marks, corrections over a range, copies, files that found their frame."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from msgspec.structs import replace

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.copies import changed_frame, changed_take, with_frame, with_roll
from rigd.model.state import FrameState, RollState, State
from rigd.model.values import Frame, Strip, Take
from rigd.model.words import Film

# -- marks and flags ---------------------------------------------------------------------------------------------


def _marked(state: State, frame_id: str, film: Film | None, by: str) -> State:
    roll = state.roll_of(frame_id)
    if roll is None:
        return state
    frame = roll.frames[frame_id]
    marks = () if film is None else (*frame.marks, film)
    marked = replace(frame, marks=marks, film=_last_word(frame, marks), by=by)
    return with_frame(replace(state, marked=frame_id), marked)


def _last_word(frame: FrameState, marks: tuple[Film, ...]) -> Film | None:
    return marks[-1] if marks else frame.judged


def _frame_marked(state: State, e: ev.FrameMarked) -> State:
    return _marked(state, e.frame_id, e.film, e.by)


def _frames_marked(state: State, e: late.FramesMarked) -> State:
    for frame_id in e.frame_ids:
        state = _marked(state, frame_id, e.film, e.by)
    return state


def _mark_undone(state: State, e: late.MarkUndone) -> State:
    roll = state.roll_of(e.frame_id)
    if roll is None:
        return state
    frame = roll.frames[e.frame_id]
    marks = frame.marks[:-1]
    return with_frame(state, replace(frame, marks=marks, film=_last_word(frame, marks), by=e.by))


def _flagged(state: State, frame_ids: Iterable[str], **changes: Any) -> State:
    for frame_id in frame_ids:
        state = changed_frame(state, frame_id, **changes)
    return state


def _frames_doubted(state: State, e: late.FramesDoubted) -> State:
    return _flagged(state, e.frame_ids, doubt=e.why, accepted=False)


def _frames_accepted(state: State, e: late.FramesAccepted) -> State:
    return _flagged(state, e.frame_ids, doubt="", again="", accepted=True)


def _frames_wanted(state: State, e: late.FramesWanted) -> State:
    return _flagged(state, e.frame_ids, again=e.why)


def _frames_described(state: State, e: late.FramesDescribed) -> State:
    for frame_id, about in e.about.items():
        state = changed_frame(state, frame_id, about=about)
    return state


def _edges_read(state: State, e: late.EdgesRead) -> State:
    for frame_id, mark in e.marks.items():
        roll = state.roll_of(frame_id)
        if roll is not None:
            state = changed_frame(state, frame_id, frame=replace(roll.frames[frame_id].frame, mark=mark))
    return state


# -- where film belongs ------------------------------------------------------------------------------------------


def _roll_dropped(state: State, e: late.RollDropped) -> State:
    roll = state.rolls.get(e.roll_id)
    if roll is None or roll.strips or roll.frames or roll.takes:
        return state
    left = {key: other for key, other in state.rolls.items() if key != e.roll_id}
    if state.roll_id != e.roll_id:
        return replace(state, rolls=left)
    return replace(state, rolls=left, roll_id=None, strip_id=None, frame_id=None, next_place=None, back=None)


def _strips_changed(state: State, e: late.StripsChanged) -> State:
    for strip in e.strips:
        state = _strip_changed(state, strip)
    return state


def _strip_changed(state: State, strip: Strip) -> State:
    home = next((roll for roll in state.rolls.values() if strip.strip_id in roll.strips), None)
    target = state.rolls[strip.roll_id]
    if home is None or home is target:
        changed = replace(target, strips={**target.strips, strip.strip_id: strip})
        return replace(with_roll(state, changed), strip_count=state.strip_count + (home is None))
    frames = {i: f for i, f in home.frames.items() if f.frame.strip_id == strip.strip_id}
    takes = {i: t for i, t in home.takes.items() if t.frame_id in frames or t.strip_id == strip.strip_id}
    state = with_roll(state, _without(home, frames, takes, strip.strip_id))
    moved = {i: replace(f, frame=replace(f.frame, roll_id=strip.roll_id)) for i, f in frames.items()}
    strips = {**target.strips, strip.strip_id: strip}
    state = with_roll(state, _with(replace(target, strips=strips), moved, takes))
    return _followed(state, strip.strip_id, strip.roll_id)


def _followed(state: State, strip_id: str, roll_id: str) -> State:
    """Where the strip in the gate goes, the job goes with it."""
    if state.strip_id == strip_id:
        state = replace(state, roll_id=roll_id)
    if state.back is not None and state.back.strip_id == strip_id:
        state = replace(state, back=replace(state.back, roll_id=roll_id))
    return state


def _frames_moved(state: State, e: late.FramesMoved) -> State:
    for frame in e.frames:
        state = _frame_moved(state, frame)
    return state


def _frame_moved(state: State, frame: Frame) -> State:
    home, target = state.roll_of(frame.frame_id), state.rolls[frame.roll_id]
    if home is None:
        return state
    target.strips[frame.strip_id]  # a strip that is not there is a KeyError: the event does not fit
    frames = {frame.frame_id: replace(home.frames[frame.frame_id], frame=frame)}
    takes = {i: t for i, t in home.takes.items() if t.frame_id == frame.frame_id}
    if home is not target:
        state = with_roll(state, _without(home, frames, takes))
    state = with_roll(state, _with(target, frames, takes))
    if state.frame_id == frame.frame_id:
        state = replace(state, roll_id=frame.roll_id, strip_id=frame.strip_id)
    return state


def _without(
    roll: RollState, frames: dict[str, FrameState], takes: dict[str, Take], strip_id: str | None = None
) -> RollState:
    return replace(
        roll,
        strips={i: s for i, s in roll.strips.items() if i != strip_id},
        frames={i: f for i, f in roll.frames.items() if i not in frames},
        takes={i: t for i, t in roll.takes.items() if i not in takes},
    )


def _with(roll: RollState, frames: dict[str, FrameState], takes: dict[str, Take]) -> RollState:
    """Label takes change their roll with their strip; takes of frames are of a roll through their frame."""
    moved = {i: replace(t, roll_id=roll.roll.roll_id) if t.roll_id else t for i, t in takes.items()}
    return replace(roll, frames={**roll.frames, **frames}, takes={**roll.takes, **moved})


# -- files, copies, the set-up -----------------------------------------------------------------------------------


def _unclaimed(state: State, e: ev.Unclaimed) -> State:
    return _strays(state, {**state.strays, e.path: e})


def _strays(state: State, strays: dict[str, ev.Unclaimed]) -> State:
    return replace(state, strays=strays, unclaimed=len(strays))


def _claimed(state: State, path: str) -> State:
    return _strays(state, {key: stray for key, stray in state.strays.items() if key != path})


def _stray_assigned(state: State, e: late.StrayAssigned) -> State:
    state = _claimed(state, e.path)
    take = e.take
    roll = state.roll_of(take.frame_id) if take.frame_id else None
    if roll is None or take.frame_id is None:
        return state
    frame = roll.frames[take.frame_id]
    known = {**roll.takes, take.take_id: take}
    frames = {**roll.frames, take.frame_id: replace(frame, takes=(*frame.takes, take.take_id), skipped=False)}
    return replace(with_roll(state, replace(roll, takes=known, frames=frames)), take_count=state.take_count + 1)


def _stray_dismissed(state: State, e: late.StrayDismissed) -> State:
    return replace(_claimed(state, e.path), dismissed={**state.dismissed, e.path: e.why})


def _copied(state: State, e: late.Copied) -> State:
    take = state.take(e.take_id)
    if take is None or e.to in take.copied:
        return state
    return changed_take(state, e.take_id, copied=(*take.copied, e.to))


def _card_cleared(state: State, e: late.CardCleared) -> State:
    return changed_take(state, e.take_id, cleared=True)


def _base_heeded(state: State, e: late.BaseHeeded) -> State:
    return with_roll(state, replace(state.rolls[e.roll_id], heeded=e.word))


def _setup_checked(state: State, e: late.SetupChecked) -> State:
    return replace(state, check=e, checked=state.take_count if e.ok else state.checked)


def _rebuilt(state: State, e: late.Rebuilt) -> State:
    return replace(
        state, take_count=max(state.take_count, e.takes), frame_count=max(state.frame_count, e.frames),
        strip_count=max(state.strip_count, e.strips), roll_count=max(state.roll_count, e.rolls),
    )  # fmt: skip


LATER_STEPS: dict[type[Any], Callable[[State, Any], State]] = {
    ev.FrameMarked: _frame_marked,
    ev.Unclaimed: _unclaimed,
    late.RollDropped: _roll_dropped,
    late.BaseHeeded: _base_heeded,
    late.StripsChanged: _strips_changed,
    late.FramesMoved: _frames_moved,
    late.EdgesRead: _edges_read,
    late.FramesMarked: _frames_marked,
    late.MarkUndone: _mark_undone,
    late.FramesDoubted: _frames_doubted,
    late.FramesAccepted: _frames_accepted,
    late.FramesWanted: _frames_wanted,
    late.FramesDescribed: _frames_described,
    late.SetupChecked: _setup_checked,
    late.StrayAssigned: _stray_assigned,
    late.StrayDismissed: _stray_dismissed,
    late.Copied: _copied,
    late.CardCleared: _card_cleared,
    late.Rebuilt: _rebuilt,
}
