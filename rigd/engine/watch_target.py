"""Which frame the watch waits for, from the state alone."""

from __future__ import annotations

from rigd.engine.arming_values import Wanted
from rigd.engine.places import new_strip
from rigd.model.state import FrameState, RollState, State
from rigd.model.values import Strip
from rigd.model.words import Decision, Emulsion


def wanted_of(state: State, again: str | None) -> Wanted | str:
    """The frame to take when it lies in the gate, or in words why there is none.

    Args:
        again: the frame that was recalled to be taken once more.
    """
    roll = state.roll
    if state.paused:
        return "Paused."
    if state.working is not None:
        return "A take is unfinished: press Recover."
    if state.frame is not None and roll is not None:
        return _current(state, state.frame, roll, again)
    if roll is None or roll.closed:
        return "Open a roll." if roll is None else f"Roll {roll.roll.label} is complete: open the next one."
    strip = state.strip
    if strip is not None and state.next_place is not None:
        return Wanted(strip.strip_id, state.next_place, strip.number == 1, forwards_of(strip))
    coming = new_strip(state, roll, None, None, None, assumed=True)
    return Wanted(None, 1, coming.number == 1, forwards_of(coming))


def forwards_of(strip: Strip) -> int:
    """1 if later places lie to the right as the camera sees the strip, else -1.

    Seen from its base, emulsion down, film reads as the taking camera's user saw it, and its numbers grow to the right
    (common practice, no source). Turned by 180 degrees they grow to the left; so they do seen from the emulsion."""
    forwards = 1 if strip.emulsion == Emulsion.DOWN else -1
    return -forwards if strip.turn == 180 else forwards


def _current(state: State, frame: FrameState, roll: RollState, again: str | None) -> Wanted | str:
    """A frame that is current already is taken if nobody has tried yet, it was recalled, or a further take is due."""
    strip = roll.strips[frame.frame.strip_id]
    last = state.take(frame.takes[-1]) if frame.takes else None
    due = last is None or last.decision is Decision.RETAKE or last.verdict is None
    if due or again == frame.frame.frame_id:
        return Wanted(strip.strip_id, frame.frame.place, strip.number == 1, forwards_of(strip))
    return f"Frame {frame.frame.place} waits for a word: take it again, or move on."
