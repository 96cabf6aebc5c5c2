"""Verbs of what is told about single frames: by range, and as a table that a spreadsheet writes and reads."""

from __future__ import annotations

from msgspec import Struct, field

from rigd.errors import InputError, RigdError
from rigd.model.events_later import FramesDescribed
from rigd.model.metadata import AboutChanges, about_frame, changed_about
from rigd.model.order import in_order
from rigd.model.state import FrameState, RollState
from rigd.model.values import About
from rigd.operations.counting import OfRoll
from rigd.operations.desk import Desk
from rigd.operations.finding import known_frame, known_roll
from rigd.operations.flagging import Said, Some, frame_ids
from rigd.operations.plan_table import refuse
from rigd.operations.verb import Args, Verb


class Describing(Some, frozen=True):
    """What is to be told of these frames differently. What is left out stays."""

    changes: AboutChanges = field(default_factory=AboutChanges)


class FrameLine(Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """One line of a table: its number in the file, the frame it speaks of, and what it says."""

    number: int
    frame: str
    changes: AboutChanges


class FrameTable(Args, frozen=True):
    """Lines of a table. `check`: only look whether they fit."""

    lines: tuple[FrameLine, ...]
    check: bool = False


class Described(Struct, frozen=True):
    """How many frames are told of differently now, and of how many it was told just so already."""

    changed: int
    same: int


class AboutFrame(Struct, frozen=True):
    """What is told of one frame: by itself (`own`), and with what it inherits from roll and job (`told`)."""

    frame_id: str
    number: int
    strip: int
    place: int
    mark: str
    own: About
    told: About


async def about(desk: Desk, args: OfRoll, by: str) -> tuple[AboutFrame, ...]:
    """What is told of each frame of a roll, in the order of the film."""
    roll = await known_roll(desk, args.roll)
    return tuple(_about(desk, roll, frame, number) for number, frame in enumerate(in_order(roll), 1))


async def describe(desk: Desk, args: Describing, by: str) -> Said:
    """Say something of frames: title, place, dates, and so on. What is not said is inherited from their roll."""
    ids = await frame_ids(desk, args)
    before = {i: (await known_frame(desk, i))[1].about for i in ids}
    told = {i: changed_about(said, args.changes) for i, said in before.items()}
    if told == before:
        raise InputError("Nothing would change.", "", "Name what is to be told differently.")
    await desk.hub.append(FramesDescribed(told, by))
    return Said(ids)


async def describe_all(desk: Desk, args: FrameTable, by: str) -> Described:
    """Take over a table of what is told about frames. All lines, or none if one does not fit."""
    told: dict[str, About] = {}
    wrong: list[str] = []
    for line in args.lines:
        try:
            _, frame = await known_frame(desk, line.frame)
            told[line.frame] = changed_about(told.get(line.frame, frame.about), line.changes)
        except RigdError as error:
            wrong.append(f"line {line.number}: {error.what} {error.why}".strip())
    refuse(wrong)
    new = {i: said for i, said in told.items() if said != (await known_frame(desk, i))[1].about}
    if new and not args.check:
        await desk.hub.append(FramesDescribed(new, by))
    return Described(len(new), len(told) - len(new))


def _about(desk: Desk, roll: RollState, frame: FrameState, number: int) -> AboutFrame:
    at = frame.frame
    return AboutFrame(at.frame_id, number, roll.strips[at.strip_id].number, at.place, at.mark, frame.about,
                      about_frame(desk.state.job, roll.roll, frame))  # fmt: skip


_TITLE = AboutChanges(title="North quay from the crane")
ABOUT = Verb("frames/about", OfRoll, tuple[AboutFrame, ...], about, OfRoll("r-0001"), reads=True)
DESCRIBE = Verb("frames/describe", Describing, Said, describe, Describing("r-0001", frames="3-5", changes=_TITLE))
DESCRIBE_ALL = Verb(
    "frames/table", FrameTable, Described, describe_all, FrameTable((FrameLine(2, "f-00012", _TITLE),), check=True)
)  # fmt: skip

VERBS = (ABOUT, DESCRIBE, DESCRIBE_ALL)
