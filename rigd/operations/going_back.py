"""Going back: to a frame that went wrong, and from a mark that was a mistake."""

from __future__ import annotations

from rigd.errors import NotReady
from rigd.model.events import FrameRecalled
from rigd.model.events_later import MarkUndone
from rigd.model.state import FrameState, RollState, State
from rigd.operations.desk import Desk
from rigd.operations.finding import between_frames, known_frame
from rigd.operations.running import Accepted


async def back(desk: Desk) -> Accepted:
    """Make the frame before the current one the current one again: the next trigger takes it. Passing it over leaves
    it as it is, and the film goes on where it was.

    Raises:
        NotReady: a frame is in hand, no roll is open, or there is no frame before.
    """
    between_frames(desk)
    roll = desk.state.roll
    if roll is None:
        raise NotReady("No roll is open.", "", "Open the roll first.")
    await desk.hub.append(FrameRecalled(_before(desk.state, roll)))
    return Accepted(desk.state.target)


async def undo(desk: Desk, *, by: str) -> str:
    """Take back the last mark; the id of its frame.

    Raises:
        NotReady: there is none.
    """
    frame_id = desk.state.marked
    if frame_id is None or not (await known_frame(desk, frame_id))[1].marks:
        raise NotReady("There is no mark to take back.", "", "Choose a frame to see what is said of it.")
    await desk.hub.append(MarkUndone(frame_id, by))
    return frame_id


def _before(state: State, roll: RollState) -> str:
    """The last frame before the one that a trigger would take."""
    order = sorted(roll.frames.values(), key=lambda frame: _spot(roll, frame))
    here = _here(state, roll)
    earlier = [frame for frame in order if _spot(roll, frame) < here]
    if not earlier:
        raise NotReady("There is no frame before this one.", "", "Trigger to take this one.")
    return earlier[-1].frame.frame_id


def _here(state: State, roll: RollState) -> tuple[float, float]:
    if state.frame is not None:
        return _spot(roll, state.frame)
    if state.strip is not None and state.next_place is not None:
        return state.strip.number, state.next_place
    return float("inf"), 0.0


def _spot(roll: RollState, frame: FrameState) -> tuple[float, float]:
    return roll.strips[frame.frame.strip_id].number, frame.frame.place
