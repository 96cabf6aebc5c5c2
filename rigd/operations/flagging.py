"""Verbs that say something of several frames at once: what the film shows, accept, take again, doubt; and undo."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from msgspec import Struct

from rigd.errors import InputError, NotFound
from rigd.ledger import FrameToSee
from rigd.model.events import AnyEvent, KeeperChosen
from rigd.model.events_later import FramesAccepted, FramesDoubted, FramesMarked, FramesWanted, MarkUndone, SetupChecked
from rigd.model.order import numbers
from rigd.model.state import RollState
from rigd.model.tally import is_suspect, kind_of
from rigd.model.words import Film, Purpose, Stage
from rigd.operations.desk import Desk
from rigd.operations.finding import known_frame, known_roll
from rigd.operations.ranges import frames_meant
from rigd.operations.verb import Args, Verb

# One page of the list of what is to be seen.
_PAGE = 200


class Some(Args, frozen=True):
    """Frames of one roll (left out: the current one): by strips (`31-`), by their numbers on the roll (`3-5,8`), by id,
    or all of them."""

    roll: str | None = None
    strips: str = ""
    frames: str = ""
    ids: tuple[str, ...] = ()


class Marking(Some, frozen=True):
    """`film` null takes every mark back."""

    film: Film | None = None


class Wanting(Some, frozen=True):
    """`why` they are to be taken again; "" takes them off the list."""

    why: str = ""


class Keeping(Args, frozen=True):
    """Which takes of a frame count, by id."""

    frame: str
    takes: tuple[str, ...]


class OneFrame(Args, frozen=True):
    """`frame` left out: the one that was marked last."""

    frame: str | None = None


class Checked(Args, frozen=True):
    """A look at the set-up: `ok`, or drifted, `what` was looked at, and `why` it is not as it was."""

    ok: bool
    what: str
    why: str = ""


class Listing(Args, frozen=True):
    """`roll` left out: of all rolls. `kind`: suspect, again, skipped, open; left out, all of them."""

    roll: str | None = None
    kind: str = ""
    limit: int = _PAGE


class Said(Struct, frozen=True):
    """The frames it was said of, in the order of the film."""

    frames: tuple[str, ...]


class ToDo(Struct, frozen=True):
    """A frame to go to: the roll's label, where that lies, the frame's place, and why."""

    frame_id: str
    roll_id: str
    label: str
    where: str
    number: int
    strip: int
    place: int
    kind: str
    why: str


async def mark(desk: Desk, args: Marking, by: str) -> Said:
    """Say what the film of frames shows: picture, unexposed, fogged; or take that back."""
    return await _say(desk, args, lambda ids: FramesMarked(ids, args.film, by))


async def accept(desk: Desk, args: Some, by: str) -> Said:
    """Say that somebody looked at the keepers of frames, and that they will do."""
    return await _say(desk, args, lambda ids: FramesAccepted(ids, by))


async def want(desk: Desk, args: Wanting, by: str) -> Said:
    """Put frames on the list to take again, with the reason; without one, take them off it."""
    return await _say(desk, args, lambda ids: FramesWanted(ids, args.why.strip(), by))


async def keep(desk: Desk, args: Keeping, by: str) -> Said:
    """Choose which takes of a frame count; the others are kept all the same."""
    roll, frame = await known_frame(desk, args.frame)
    unknown = [t for t in args.takes if t not in frame.takes]
    if unknown or not args.takes:
        raise NotFound(
            f"Frame {args.frame} has no take {', '.join(unknown) or '(none was named)'}.",
            f"It has {', '.join(frame.takes) or 'none'}.", "Use one or more of these.",
        )  # fmt: skip
    without = [t for t in args.takes if roll.takes[t].stage not in (Stage.STORED, Stage.JUDGED)]
    if without:
        raise InputError(f"Take {without[0]} has no file.", "It was lost.", "Choose another.")
    film = frame.film or Film.PICTURE
    await desk.hub.append(KeeperChosen(args.frame, args.takes, film, by))
    return Said((args.frame,))


async def undo(desk: Desk, args: OneFrame, by: str) -> Said:
    """Take the last mark of a frame back: the one before it counts, or what rigd found."""
    frame_id = args.frame or desk.state.marked
    if frame_id is None:
        raise NotFound("Nothing was marked yet.", "", "Name a frame.")
    _, frame = await known_frame(desk, frame_id)
    if not frame.marks:
        raise NotFound(f"Frame {frame_id} has no mark to take back.", "", "See: rigd rolls tally --by frame.")
    await desk.hub.append(MarkUndone(frame_id, by))
    return Said((frame_id,))


async def checked(desk: Desk, args: Checked, by: str) -> Said:
    """Record a look at the set-up. A drift puts every frame in doubt that was taken since the last good look."""
    look = SetupChecked(args.ok, args.what, args.why, by)
    if args.ok:
        await desk.hub.append(look)
        return Said(())
    ids = await _kept_since(desk, desk.state.checked)
    why = f"{args.what}: {args.why or 'drifted'}; taken since the last good look"
    doubts: list[AnyEvent] = [FramesDoubted(tuple(some), why, by) for some in ids]
    await desk.hub.append(look, *doubts)
    return Said(tuple(frame_id for some in ids for frame_id in some))


async def todo(desk: Desk, args: Listing, by: str) -> tuple[ToDo, ...]:
    """Frames that somebody should look at or go back to, in the order in which they were placed."""
    if args.kind not in ("", "suspect", "again", "skipped", "open"):
        raise InputError(f"There is no list of {args.kind!r}.", "", "Use suspect, again, skipped or open.")
    only = (await known_roll(desk, args.roll)).roll.roll_id if args.roll else None
    limit = max(1, args.limit)
    seen = await desk.hub.look.to_see(only, None if args.kind else limit)
    found = [f for f in seen if _is_of(f, args.kind)][:limit]
    rolls = {roll_id: await known_roll(desk, roll_id) for roll_id in {f.roll_id for f in found}}
    order = {roll_id: numbers(roll) for roll_id, roll in rolls.items()}
    return tuple(_todo(rolls[f.roll_id], f.frame_id, order[f.roll_id][f.frame_id]) for f in found)


async def _say(desk: Desk, args: Some, event: Callable[[tuple[str, ...]], AnyEvent]) -> Said:
    ids = await frame_ids(desk, args)
    await desk.hub.append(event(ids))
    return Said(ids)


async def frame_ids(desk: Desk, args: Some) -> tuple[str, ...]:
    """The frames that are meant. Raises NotFound, InputError."""
    if args.ids:
        for frame_id in args.ids:
            await known_frame(desk, frame_id)
        return args.ids
    if not args.strips and not args.frames and args.roll is None:
        raise InputError("No frame was named.", "", "Name strips, frames, ids, or a roll for all of its frames.")
    roll = await known_roll(desk, args.roll)
    return tuple(f.frame.frame_id for f in frames_meant(roll, args.strips, args.frames))


async def _kept_since(desk: Desk, takes: int) -> list[list[str]]:
    """Frames whose keeper was made after that many takes, roll by roll; those that are in doubt already left out."""
    last = f"t-{takes:06d}"
    by_roll: dict[str, list[str]] = {}
    while page := await desk.hub.look.stored(last):
        last = page[-1].take_id
        for take in page:
            if take.frame_id is None or take.purpose is Purpose.LABEL:
                continue
            roll, frame = await known_frame(desk, take.frame_id)
            if take.take_id in frame.keeper and not frame.doubt:
                by_roll.setdefault(roll.roll.roll_id, []).append(take.frame_id)
    return [list(dict.fromkeys(some)) for some in by_roll.values()]


def _is_of(frame: FrameToSee, kind: str) -> bool:
    return {"": True, "suspect": frame.suspect, "again": frame.again}.get(kind, frame.kind == kind)


def _todo(roll: RollState, frame_id: str, number: int) -> ToDo:
    frame = roll.frames[frame_id]
    at = frame.frame
    why = frame.again or frame.doubt or _verdict(roll, frame.keeper or frame.takes[-1:])
    kind = "again" if frame.again else "suspect" if is_suspect(frame, roll) else kind_of(frame)
    return ToDo(frame_id, roll.roll.roll_id, roll.roll.label, roll.roll.where, number,
                roll.strips[at.strip_id].number, at.place, kind, why)  # fmt: skip


def _verdict(roll: RollState, takes: Iterable[str]) -> str:
    verdicts = [roll.takes[t].verdict for t in takes if t in roll.takes]
    return next((v.why for v in verdicts if v is not None), "")


MARK = Verb("frames/mark", Marking, Said, mark, Marking(roll="r-0001", strips="31-", film=Film.UNEXPOSED))
ACCEPT = Verb("frames/accept", Some, Said, accept, Some(roll="r-0001", frames="3-5,8"))
WANT = Verb("frames/want", Wanting, Said, want, Wanting(ids=("f-00012",), why="soft at 100 %"))
KEEP = Verb("frames/keep", Keeping, Said, keep, Keeping("f-00012", ("t-000031", "t-000032")))
UNDO = Verb("frames/undo", OneFrame, Said, undo, OneFrame("f-00012"))
CHECKED = Verb("setup/checked", Checked, Said, checked, Checked(False, "focus", "moved by 60 um"))
TODO = Verb("frames/todo", Listing, tuple[ToDo, ...], todo, Listing(kind="suspect"), reads=True)

VERBS = (MARK, ACCEPT, WANT, KEEP, UNDO, CHECKED, TODO)
