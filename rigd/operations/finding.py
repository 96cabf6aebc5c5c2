"""Finding what a command names: a roll by its id or label, a frame, a strip, wherever the job stands now."""

from __future__ import annotations

from rigd.errors import NotFound, NotReady
from rigd.model.state import FrameState, RollState
from rigd.model.values import Job
from rigd.operations.desk import Desk

# A few names help to find a typing error; a thousand do not.
_NAMED = 12


def open_job(desk: Desk) -> Job:
    """The job of this folder. Raises NotReady where none is open."""
    if desk.state.job is None:
        raise NotReady("No job is open in this folder.", "", "Open one: rigd job open TITLE.")
    return desk.state.job


async def known_roll(desk: Desk, name: str | None) -> RollState:
    """A roll by its id or its label; the current one for None.

    Raises:
        NotFound: nobody knows it. NotReady: none is named, and none is open.
    """
    if name is None:
        if desk.state.roll is None:
            raise NotReady("No roll is open.", "", "Name one, or open one.")
        return desk.state.roll
    found = await desk.hub.look.roll(name)
    if found is None:
        lines = await desk.hub.look.lines(limit=_NAMED)
        known = ", ".join(f"{line.roll_id} ({line.roll.label})" for line in lines) or "none yet"
        more = " ..." if len(lines) == _NAMED else ""
        raise NotFound(f"There is no roll {name}.", f"Known: {known}{more}.", "Use one of these, or plan it first.")
    return found


async def known_frame(desk: Desk, frame_id: str) -> tuple[RollState, FrameState]:
    """A frame with its roll. Raises NotFound."""
    roll = await desk.hub.look.roll_of(frame_id)
    if roll is None or frame_id not in roll.frames:
        raise NotFound(f"There is no frame {frame_id}.", "", "Choose one from the roll's list.")
    return roll, roll.frames[frame_id]


def between_frames(desk: Desk) -> None:
    """Raises NotReady while a frame is in hand."""
    if desk.runner is not None and desk.runner.busy:
        raise NotReady("A frame is in hand.", "", "Wait for the tone.")
