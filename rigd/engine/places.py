"""Where the film stands: the next place on a strip, and what has to be recorded before a frame can be taken."""

from __future__ import annotations

from msgspec import Struct

from rigd.engine.steps import Placed
from rigd.errors import NotReady
from rigd.model.events import AnyEvent, FramePlaced, StripLoaded
from rigd.model.state import RollState, State
from rigd.model.values import Frame, Strip
from rigd.model.words import Emulsion


def next_place(roll: RollState, frame_id: str) -> int | None:
    """The place after the furthest one that was reached on this frame's strip; None if the strip is through."""
    frame = roll.frames[frame_id].frame
    strip = roll.strips[frame.strip_id]
    place = 1 + max(f.frame.place for f in roll.frames.values() if f.frame.strip_id == strip.strip_id)
    return place if strip.places is None or place <= strip.places else None


def roll_is_full(roll: RollState, settled_now: str) -> bool:
    """True if, with `settled_now` settled, as many frames are accounted for as the roll is known to hold."""
    if roll.roll.expected is None or roll.closed:
        return False
    settled = {i for i, f in roll.frames.items() if f.done} | {settled_now}
    return len(settled) >= roll.roll.expected[1]


def new_strip(
    state: State,
    roll: RollState,
    places: int | None,
    emulsion: Emulsion | None,
    turn: int | None,
    assumed: bool,
    number: int | None = None,
) -> Strip:
    """The next strip of a roll, or the one of that number. What nobody said is taken from the strip before it, and its
    places from the plan."""
    before = max(roll.strips.values(), key=lambda s: s.number, default=None)
    number = number or (before.number if before else 0) + 1
    cuts = roll.roll.cuts
    usual = cuts[number - 1] if number <= len(cuts) else roll.roll.strip_places
    return Strip(
        strip_id=f"s-{state.strip_count + 1:04d}",
        roll_id=roll.roll.roll_id,
        number=number,
        places=places or usual,
        emulsion=emulsion or (before.emulsion if before else Emulsion.DOWN),
        turn=turn if turn is not None else (before.turn if before else 0),
        assumed=assumed,
    )


class Placing(Struct, frozen=True):
    """A frame in the gate and the events that must be committed to make it the current one."""

    placed: Placed
    events: tuple[AnyEvent, ...]


def placing(state: State) -> Placing:
    """What a trigger would take now.

    Raises:
        NotReady: no roll is open, or the open one is complete.
    """
    roll = state.roll
    if state.frame is not None and roll is not None:
        frame = state.frame.frame
        return Placing(Placed(roll.roll, roll.strips[frame.strip_id], frame), ())
    if roll is None or roll.closed:
        raise NotReady(
            "No roll is open." if roll is None else f"Roll {roll.roll.label} is complete.",
            "A frame needs a roll that it belongs to.",
            "Open the next roll, or recall a frame to take it again.",
        )
    strip = state.strip
    events: list[AnyEvent] = []
    if strip is None or state.next_place is None:
        strip = new_strip(state, roll, None, None, None, assumed=True)
        events.append(StripLoaded(strip))
    place = state.next_place if state.strip and state.next_place else 1
    frame = Frame(f"f-{state.frame_count + 1:05d}", roll.roll.roll_id, strip.strip_id, place)
    events.append(FramePlaced(frame))
    return Placing(Placed(roll.roll, strip, frame), tuple(events))
