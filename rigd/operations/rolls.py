"""Verbs of the paper work: jobs, set-ups, rolls, strips and marks."""

from __future__ import annotations

from uuid import uuid4

from msgspec import UNSET, Struct
from msgspec.structs import replace

from rigd.engine.places import new_strip
from rigd.errors import InputError, NotReady
from rigd.model.events import (
    FrameMarked,
    JobOpened,
    RollClosed,
    RollOpened,
    SetupDescribed,
    StripLoaded,
)
from rigd.model.plan import RollChanges
from rigd.model.tally import Tally
from rigd.model.tally import tally as count
from rigd.model.values import Job, Roll, Setup, Strip
from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone
from rigd.operations import plans
from rigd.operations.desk import Desk
from rigd.operations.finding import between_frames, known_frame, known_roll


class RollLine(Struct, frozen=True):
    """A roll with its tally, for lists; `place` is its number in the order of planning."""

    roll: Roll
    tally: Tally
    closed: bool
    current: bool
    place: int = 0


async def open_job(desk: Desk, *, title: str, default_base: BaseType = BaseType.UNKNOWN) -> Job:
    """Begin the job of this folder, or change its title."""
    if not title.strip():
        raise InputError("A job needs a title.", "", "Say what is being digitised, for whom.")
    before = desk.state.job or Job(uuid4().hex, "")
    job = replace(before, title=title.strip(), default_base=default_base)
    await desk.hub.append(JobOpened(job))
    return job


async def describe_setup(desk: Desk, **fields: object) -> Setup:
    """Record the set-up as it stands now; a new one makes the calibrations of the old one stale."""
    number = 1 + int(desk.state.setup.setup_id.rpartition("-")[2]) if desk.state.setup else 1
    try:
        setup = Setup(setup_id=f"u-{number:04d}", **fields)  # type: ignore[arg-type]
    except TypeError as error:
        raise InputError("The set-up does not fit.", f"{error}.", "Use the fields that the help lists.") from error
    await desk.hub.append(SetupDescribed(setup))
    return setup


async def plan_roll(
    desk: Desk,
    *,
    label: str,
    film_format_name: str,
    tone: Tone = Tone.NEGATIVE,
    colour: Colour = Colour.MONO,
    expected: tuple[int, int] | None = None,
    strip_places: int | None = None,
    base_type: BaseType | None = None,
    stock: str = "",
    process: str = "",
    where: str = "",
) -> Roll:
    """Add a roll to the job.

    Raises:
        NotReady: no job is open. InputError: the label is taken or empty, the format unknown, a count impossible.
    """
    said = RollChanges(
        label=label, film_format=film_format_name, tone=tone, colour=colour, expected=expected,
        strip_places=strip_places, base_type=base_type or UNSET, stock=stock, process=process, where=where,
    )  # fmt: skip
    return await plans.plan(desk, plans.NewRoll(said), "")


async def open_roll(desk: Desk, *, roll_id: str) -> Roll:
    """Make a roll the current one."""
    roll = await known_roll(desk, roll_id)
    between_frames(desk)
    await desk.hub.append(RollOpened(roll.roll.roll_id))
    return roll.roll


async def close_roll(desk: Desk, *, roll_id: str) -> Tally:
    """Say that a roll is through; its tally."""
    roll = await known_roll(desk, roll_id)
    between_frames(desk)
    await desk.hub.append(RollClosed(roll.roll.roll_id))
    return count(roll)


async def list_rolls(desk: Desk, *, after: int = 0, limit: int | None = None) -> tuple[RollLine, ...]:
    """The rolls of the job with their tallies, in the order of planning, after that place: all of them, or a page."""
    current = desk.state.roll_id
    lines = await desk.hub.look.lines(after, limit)
    return tuple(RollLine(one.roll, one.tally, one.closed, one.roll_id == current, one.place) for one in lines)


async def tally(desk: Desk, *, roll_id: str | None = None) -> Tally:
    """The tally of one roll, the current one by default."""
    return count(await known_roll(desk, roll_id))


async def load_strip(
    desk: Desk, *, places: int | None = None, emulsion: Emulsion | None = None, turn: int | None = None
) -> Strip:
    """Record that the next strip lies in the gate, and how."""
    roll = desk.state.roll
    if roll is None or roll.closed:
        raise NotReady("No roll is open.", "A strip belongs to a roll.", "Open the roll first.")
    if turn not in (None, 0, 180):
        raise InputError(f"A strip cannot be turned by {turn} degrees.", "", "Use 0 or 180.")
    if places is not None and not 1 <= places <= 100:
        raise InputError(f"A strip cannot hold {places} frames.", "", "Use a number from 1 to 100.")
    between_frames(desk)
    strip = new_strip(desk.state, roll, places, emulsion, turn, assumed=False)
    await desk.hub.append(StripLoaded(strip))
    desk.film_changed()
    return strip


async def mark(desk: Desk, *, frame_id: str, film: Film | None, by: str) -> None:
    """The operator's word on what a frame shows; None takes it back."""
    await known_frame(desk, frame_id)
    await desk.hub.append(FrameMarked(frame_id, film, by))
