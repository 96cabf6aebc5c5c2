"""Verbs of planning: a roll more, a roll changed or dropped, a whole table taken over."""

from __future__ import annotations

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from rigd.errors import InputError, NotFound, RigdError
from rigd.model.events import AnyEvent, JobOpened, RollChanged, RollPlanned
from rigd.model.events_later import BaseHeeded, RollDropped
from rigd.model.exposing import ExposingChanges, changed_exposing
from rigd.model.metadata import AboutChanges, changed_about
from rigd.model.names import check_template
from rigd.model.plan import RollChanges, Suggested, changed_roll, planned, suggested
from rigd.model.values import Job, Roll
from rigd.model.words import BaseType
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll, open_job
from rigd.operations.plan_table import PlanLine, refuse
from rigd.operations.verb import Args, Verb
from rigd.store.naming import plain, roll_folder

# Events in one transaction: a few MB, and the frame in hand waits for no longer than 0.1 s.
_PORTION = 200


class JobChange(Args, frozen=True):
    """What is left out stays. `names`: template of file names at delivery."""

    title: str | UnsetType = UNSET
    default_base: BaseType | UnsetType = UNSET
    names: str | UnsetType = UNSET
    about: AboutChanges | UnsetType = UNSET
    exposing: ExposingChanges | UnsetType = UNSET


class NewRoll(Args, frozen=True):
    changes: RollChanges


class RollChange(Args, frozen=True):
    roll: str
    changes: RollChanges


class RollNamed(Args, frozen=True):
    roll: str
    why: str = ""


class Word(Args, frozen=True):
    """The operator's word that a roll's film may run by itself, and on what grounds."""

    roll: str
    word: str


class Asked(Args, frozen=True):
    film_format: str
    exposures: int | None = None


class Table(Args, frozen=True):
    """Lines of a table. `check`: only look whether they fit."""

    lines: tuple[PlanLine, ...]
    check: bool = False


class TakenOver(Struct, frozen=True):
    """How many rolls were planned, changed, and found to be just so already."""

    planned: int
    changed: int
    same: int


async def change_job(desk: Desk, args: JobChange, by: str) -> Job:
    """Change the job: its title, the base of its film, what is told about all of its pictures."""
    job = open_job(desk)
    new = {n: v for n in ("title", "default_base", "names") if not isinstance(v := getattr(args, n), UnsetType)}
    changed = replace(job, **new, about=changed_about(job.about, args.about))
    changed = replace(changed, exposing=changed_exposing(job.exposing, args.exposing))
    if not changed.title.strip():
        raise InputError("A job needs a title.", "", "Say what is being digitised, for whom.")
    if changed.names:
        check_template(changed.names)
    await desk.hub.append(JobOpened(changed))
    return changed


async def plan(desk: Desk, args: NewRoll, by: str) -> Roll:
    """Add a roll to the job."""
    roll = await _new(desk, args.changes, desk.state.roll_count + 1, {})
    await desk.hub.append(RollPlanned(roll))
    return roll


async def change(desk: Desk, args: RollChange, by: str) -> Roll:
    """Change what is planned or known of a roll. Its folder keeps its name: files are named anew at delivery."""
    roll = (await known_roll(desk, args.roll)).roll
    changed = changed_roll(roll, args.changes)
    if changed.label != roll.label:
        await _require_free(desk, changed.label, {})
    await desk.hub.append(RollChanged(changed))
    return changed


async def drop(desk: Desk, args: RollNamed, by: str) -> Roll:
    """Take a roll off the plan. One that has frames stays: close it instead."""
    roll = await known_roll(desk, args.roll)
    if roll.strips or roll.frames or roll.takes:
        raise InputError(
            f"Roll {roll.roll.label} is not empty.", f"It has {len(roll.frames)} frames.",
            "Move them to the roll they belong to first, or close it.",
        )  # fmt: skip
    await desk.hub.append(RollDropped(roll.roll.roll_id, args.why, by))
    return roll.roll


async def heed(desk: Desk, args: Word, by: str) -> Roll:
    """Give the word that the film of a roll may run by itself: for an unknown base."""
    roll = await known_roll(desk, args.roll)
    if not args.word.strip():
        raise InputError("Say on what grounds.", "", "Such as: reads SAFETY on its edge; floats in the test.")
    await desk.hub.append(BaseHeeded(roll.roll.roll_id, f"{args.word.strip()} ({by})", by))
    return roll.roll


async def suggest(desk: Desk, args: Asked, by: str) -> Suggested:
    """What a format suggests: how many frames to expect, and how it is usually cut."""
    return suggested(args.film_format, args.exposures)


async def take_over(desk: Desk, args: Table, by: str) -> TakenOver:
    """Plan and change the rolls of a table: a line with the id or the label of a known roll changes it. All lines, or
    none if one does not fit."""
    open_job(desk)
    events, wrong = await _events(desk, args.lines)
    refuse(wrong)
    counted = [sum(isinstance(e, kind) for e in events) for kind in (RollPlanned, RollChanged)]
    if not args.check:
        for first in range(0, len(events), _PORTION):
            await desk.hub.append(*events[first : first + _PORTION])
    return TakenOver(counted[0], counted[1], len(args.lines) - len(events))


async def _events(desk: Desk, lines: tuple[PlanLine, ...]) -> tuple[list[AnyEvent], list[str]]:
    events: list[AnyEvent] = []
    wrong: list[str] = []
    labels: dict[str, str] = {}
    number = desk.state.roll_count
    for line in lines:
        try:
            event = await _event(desk, line, number + 1, labels)
        except RigdError as error:
            wrong.append(f"line {line.number}: {error.what} {error.why}".strip())
            continue
        number += isinstance(event, RollPlanned)
        events += [event] if event is not None else []
    return events, wrong


async def _event(desk: Desk, line: PlanLine, number: int, labels: dict[str, str]) -> AnyEvent | None:
    """`labels`: those of earlier lines with the folders they will have."""
    label = line.changes.label
    known = await desk.hub.look.roll(line.roll_id or str(label))
    if known is None and line.roll_id:
        raise NotFound(f"There is no roll {line.roll_id}.", "", "Leave its id out to plan it anew.")
    if known is None:
        roll = await _new(desk, line.changes, number, labels)
        labels[roll.label] = roll.folder
        return RollPlanned(roll)
    changed = changed_roll(known.roll, line.changes)
    if changed.label != known.roll.label:
        await _require_free(desk, changed.label, labels)
    labels[changed.label] = changed.folder
    return RollChanged(changed) if changed != known.roll else None


async def _new(desk: Desk, changes: RollChanges, number: int, labels: dict[str, str]) -> Roll:
    job = open_job(desk)
    label = "" if isinstance(changes.label, UnsetType) else changes.label.strip()
    taken = [*await desk.hub.look.folders(plain(label)), *labels.values()] if label else []
    roll = planned(changes, f"r-{number:04d}", roll_folder(label, taken), job.default_base)
    await _require_free(desk, roll.label, labels)
    return roll


async def _require_free(desk: Desk, label: str, labels: dict[str, str]) -> None:
    if label in labels or await desk.hub.look.label_is_taken(label):
        raise InputError(f"There is a roll {label!r} already.", "Labels name files.", "Use another label.")


_QUAY = RollChanges(label="North quay 3", film_format="135", exposures=36, where="box 2, sleeve 7")

CHANGE_JOB = Verb("job/change", JobChange, Job, change_job, JobChange(about=AboutChanges(rights="Port of Vessling")))
PLAN = Verb("plan/roll", NewRoll, Roll, plan, NewRoll(changes=_QUAY))
CHANGE = Verb("plan/change", RollChange, Roll, change, RollChange(roll="r-0001", changes=RollChanges(where="shelf 4")))
DROP = Verb("plan/drop", RollNamed, Roll, drop, RollNamed(roll="r-0002", why="planned twice"))
HEED = Verb("plan/heed", Word, Roll, heed, Word(roll="r-0001", word="reads SAFETY on its edge"))
SUGGEST = Verb("plan/suggest", Asked, Suggested, suggest, Asked(film_format="135", exposures=36), reads=True)
TAKE_OVER = Verb("plan/table", Table, TakenOver, take_over, Table(lines=(PlanLine(2, _QUAY),), check=True))

VERBS = (CHANGE_JOB, PLAN, CHANGE, DROP, HEED, SUGGEST, TAKE_OVER)
