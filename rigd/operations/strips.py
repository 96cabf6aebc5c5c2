"""Verbs of strips: which one lies in the gate, in any order and either way round; its label; the marks on its edge."""

from __future__ import annotations

from msgspec import UNSET, Struct, UnsetType, field
from msgspec.structs import replace

from rigd.engine.places import new_strip
from rigd.errors import InputError, NotFound, NotReady
from rigd.model.edges import direction, series
from rigd.model.events import AnyEvent, FrameRecalled, StripLoaded
from rigd.model.events_later import EdgesRead
from rigd.model.order import frames_of
from rigd.model.state import FrameState, RollState
from rigd.model.values import Strip
from rigd.model.words import Colour, Emulsion, Tone
from rigd.operations.desk import Desk
from rigd.operations.finding import between_frames, known_frame, known_roll
from rigd.operations.verb import Args, Verb

# A mark is what fits beside a picture.
_LONGEST_MARK = 12


class Lay(Args, frozen=True):
    """`number` of a strip as sleeved, in any order; left out, the next one. A number that is known already lies in the
    gate again. What is left out of how it lies is as on the strip before."""

    number: int | None = None
    places: int | None = None
    emulsion: Emulsion | None = None
    turn: int | None = None
    sleeve: str | UnsetType = UNSET
    tone: Tone | UnsetType | None = UNSET
    colour: Colour | UnsetType | None = UNSET


class Laid(Struct, frozen=True):
    """The strip in the gate, and what a trigger takes now; None where every place of it has been taken."""

    strip: Strip
    target: str | None


class Edges(Args, frozen=True):
    """Marks by frame id; or `first`, the mark of the first frame of a strip in the order of the film: the others are
    counted on from it. `roll` left out: the current one."""

    marks: dict[str, str] = field(default_factory=dict)
    roll: str | None = None
    strip: int | None = None
    first: str = ""


class EdgesTold(Struct, frozen=True):
    """The marks by frame id. `backwards`: they fall along a strip: it was fed end for end, and nobody said so."""

    marks: dict[str, str]
    backwards: tuple[int, ...] = ()


class Label(Args, frozen=True):
    """`whole`: the label of the roll or box; else of the strip, sleeve or mount in the gate."""

    whole: bool = False


class GoTo(Args, frozen=True):
    frame: str


class Recalled(Struct, frozen=True):
    frame_id: str
    target: str | None


async def lay(desk: Desk, args: Lay, by: str) -> Laid:
    """Say which strip lies in the gate, and how. One that was there before is gone on with: at a frame that was
    skipped or is wanted again, else after the last one that was taken."""
    roll = desk.state.roll
    if roll is None or (roll.closed and args.number is None):
        raise NotReady("No roll is open.", "A strip belongs to a roll.", "Open the roll first.")
    _check(args)
    between_frames(desk)
    known = next((s for s in roll.strips.values() if s.number == args.number), None)
    strip = _again(known, args) if known else _fresh(desk, roll, args)
    events: list[AnyEvent] = [StripLoaded(strip)]
    wanted = [f for f in frames_of(roll, strip) if _to_do(f)] if known else []
    if wanted:
        events.append(FrameRecalled(wanted[0].frame.frame_id))
    await desk.hub.append(*events)
    desk.film_changed()
    return Laid(strip, desk.state.target if desk.state.strip_id == strip.strip_id else None)


async def read_edges(desk: Desk, args: Edges, by: str) -> EdgesTold:
    """Write down the marks that are printed on the edge of the film, as labels of frames."""
    marks = {key: mark.strip() for key, mark in args.marks.items()}
    if args.first:
        roll = await known_roll(desk, args.roll)
        frames = frames_of(roll, _strip(roll, args.strip))
        counted = series(args.first, len(frames))
        marks |= {f.frame.frame_id: mark for f, mark in zip(frames, counted, strict=True)}
    if not marks:
        raise InputError("No mark was given.", "", "Give marks by frame, or the first one of a strip.")
    rolls = [(await known_frame(desk, frame_id))[0] for frame_id in marks]
    for mark in marks.values():
        if len(mark) > _LONGEST_MARK or not mark.isprintable():
            raise InputError(f"{mark!r} is no edge mark.", "", f"Use up to {_LONGEST_MARK} signs, such as 12A.")
    await desk.hub.append(EdgesRead(marks, by))
    return EdgesTold(marks, _backwards(rolls, marks))


async def label(desk: Desk, args: Label, by: str) -> Laid:
    """Take a picture of what is written on the strip, its sleeve or its mount, or on the roll's box: it proves the
    numbering later."""
    roll = desk.state.roll
    if roll is None:
        raise NotReady("No roll is open.", "A label belongs to a roll or to one of its strips.", "Open the roll first.")
    strip = desk.state.strip
    if not args.whole and strip is None:
        raise NotReady("No strip lies in the gate.", "", "Lay the strip first, or take the label of the whole roll.")
    of = strip if strip and not args.whole else Strip("", roll.roll.roll_id, 0, None)
    desk.engine().aside.label(of)
    return Laid(of, desk.state.target)


async def recall(desk: Desk, args: GoTo, by: str) -> Recalled:
    """Go back to a frame: the next trigger takes it, and after it the film goes on where it stands now."""
    between_frames(desk)
    await known_frame(desk, args.frame)
    await desk.hub.append(FrameRecalled(args.frame))
    return Recalled(args.frame, desk.state.target)


def _check(args: Lay) -> None:
    if args.turn not in (None, 0, 180):
        raise InputError(f"A strip cannot be turned by {args.turn} degrees.", "", "Use 0 or 180.")
    if args.places is not None and not 1 <= args.places <= 100:
        raise InputError(f"A strip cannot hold {args.places} frames.", "", "Use a number from 1 to 100.")
    if args.number is not None and not 1 <= args.number <= 999:
        raise InputError(f"A strip cannot have the number {args.number}.", "", "Use a number from 1 to 999.")


def _fresh(desk: Desk, roll: RollState, args: Lay) -> Strip:
    strip = new_strip(desk.state, roll, args.places, args.emulsion, args.turn, False, args.number)
    return _told(strip, args)


def _again(known: Strip, args: Lay) -> Strip:
    """What is said now holds for the strip from now on."""
    return _told(replace(
        known, places=args.places or known.places, emulsion=args.emulsion or known.emulsion,
        turn=known.turn if args.turn is None else args.turn,
    ), args)  # fmt: skip


def _told(strip: Strip, args: Lay) -> Strip:
    said = {name: getattr(args, name) for name in ("sleeve", "tone", "colour")}
    return replace(strip, **{name: value for name, value in said.items() if not isinstance(value, UnsetType)})


def _to_do(frame: FrameState) -> bool:
    return bool(frame.again) or (frame.skipped and not frame.done)


def _strip(roll: RollState, number: int | None) -> Strip:
    found = next((s for s in roll.strips.values() if s.number == number), None)
    if found is None:
        known = ", ".join(str(s.number) for s in sorted(roll.strips.values(), key=lambda s: s.number)) or "none yet"
        raise NotFound(f"Roll {roll.roll.label} has no strip {number}.", f"Known: {known}.", "Use one of these.")
    return found


def _backwards(rolls: list[RollState], marks: dict[str, str]) -> tuple[int, ...]:
    """Strips on which the marks fall in the order that the film is believed to have."""
    found = set()
    for roll in {roll.roll.roll_id: roll for roll in rolls}.values():
        for strip in roll.strips.values():
            told = [marks.get(f.frame.frame_id, f.frame.mark) for f in frames_of(roll, strip)]
            if direction(told) == -1:
                found.add(strip.number)
    return tuple(sorted(found))


LAY = Verb("strips/lay", Lay, Laid, lay, Lay(number=3, emulsion=Emulsion.DOWN, turn=180))
EDGES = Verb("frames/edges", Edges, EdgesTold, read_edges, Edges(roll="r-0001", strip=1, first="12A"))
LABEL = Verb("strips/label", Label, Laid, label, Label(whole=True))
RECALL = Verb("frames/recall", GoTo, Recalled, recall, GoTo("f-00001"))

VERBS = (LAY, EDGES, LABEL, RECALL)
