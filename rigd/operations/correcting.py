"""Verbs of corrections over a range: another roll, other side up, turned, another kind, other numbers; and undo.

What was believed before stands in the event, so that each can be taken back. No file is renamed: its name stays, and
the ledger says what it is.
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from rigd.errors import InputError, NotFound
from rigd.model.edges import order_of
from rigd.model.events import AnyEvent, StripLoaded
from rigd.model.events_later import FramesMoved, StripsChanged
from rigd.model.order import frames_of, strips_in_order
from rigd.model.state import FrameState, RollState
from rigd.model.values import Frame, Strip
from rigd.model.words import Colour, Emulsion, Tone
from rigd.operations.desk import Desk
from rigd.operations.finding import between_frames, known_roll
from rigd.operations.ranges import strips_meant
from rigd.operations.verb import Args, Nothing, Verb

# Corrections are taken back soon after they were made: so many events are looked through for the last one.
_LOOKED_THROUGH = 20_000
_PAGE = 1000

_OTHER = {Emulsion.UP: Emulsion.DOWN, Emulsion.DOWN: Emulsion.UP}


class StripsAre(Args, frozen=True):
    """Strips of a roll (left out: the current one) by number, such as `31-`, as they really are. `flip`: they lay with
    the other side up; `turn`: they were fed end for end; `to`: the roll they are of; `first`: the number of the first
    of them, the others follow it."""

    strips: str
    roll: str | None = None
    flip: bool = False
    turn: bool = False
    tone: Tone | None = None
    colour: Colour | None = None
    places: int | None = None
    to: str | None = None
    first: int | None = None
    why: str = ""


class StripBegan(Args, frozen=True):
    """The next strip began at `place` of strip `strip`: the frames from there on are of one more strip, of the same
    roll or of the roll `to`."""

    strip: int
    place: int
    roll: str | None = None
    to: str | None = None
    why: str = ""


class ByEdges(Args, frozen=True):
    """The strips of a roll get their numbers from the edge marks that were read on them."""

    roll: str | None = None
    why: str = ""


class Corrected(Struct, frozen=True):
    """Strips and frames as they are now."""

    strips: tuple[Strip, ...]
    frames: tuple[Frame, ...] = ()


async def correct(desk: Desk, args: StripsAre, by: str) -> Corrected:
    """Say what strips really are: of another roll, other side up, turned, of another kind, of other numbers."""
    between_frames(desk)
    roll = await known_roll(desk, args.roll)
    target = roll if args.to is None else await known_roll(desk, args.to)
    strips = strips_meant(roll, args.strips)
    first = args.first or (_next_number(target) if target.roll.roll_id != roll.roll.roll_id else None)
    changed = [_changed(s, args, target, None if first is None else first + n) for n, s in enumerate(strips)]
    if changed == strips:
        raise InputError("Nothing would change.", "", "Say what is different: roll, side, turn, kind or number.")
    _require_free(target, changed)
    return await _commit(desk, changed, strips, [], [], args.why, by)


async def began(desk: Desk, args: StripBegan, by: str) -> Corrected:
    """Say that the next strip began in the middle of one: the frames from there on are of a strip of their own."""
    between_frames(desk)
    roll = await known_roll(desk, args.roll)
    target = roll if args.to is None else await known_roll(desk, args.to)
    (strip,) = strips_meant(roll, str(args.strip))[:1]
    frames = sorted((f for f in frames_of(roll, strip) if f.frame.place >= args.place), key=lambda f: f.frame.place)
    if not frames or args.place < 2:
        what = f"Strip {args.strip} has no frame from place {args.place} on that could be of another strip."
        raise NotFound(what, "", "See: rigd rolls tally --by frame.")
    same = target.roll.roll_id == roll.roll.roll_id
    number = strip.number + 1 if same else _next_number(target)
    fresh = replace(
        strip, strip_id=f"s-{desk.state.strip_count + 1:04d}", roll_id=target.roll.roll_id, number=number,
        places=None if strip.places is None else max(f.frame.place for f in frames) - args.place + 1,
    )  # fmt: skip
    was = [strip, *([s for s in strips_in_order(roll) if s.number > strip.number] if same else [])]
    now = [replace(strip, places=args.place - 1), fresh, *(replace(s, number=s.number + 1) for s in was[1:])]
    return await _commit(desk, now, was, [_moved(f, fresh, args.place) for f in frames], frames, args.why, by)


async def by_edges(desk: Desk, args: ByEdges, by: str) -> Corrected:
    """Number the strips of a roll in the order of the edge marks on them."""
    between_frames(desk)
    roll = await known_roll(desk, args.roll)
    starts = {strip.strip_id: _first_mark(roll, strip) for strip in roll.strips.values()}
    unread = [str(s.number) for s in strips_in_order(roll) if starts[s.strip_id] is None]
    if unread or not starts:
        raise InputError(f"Strip {', '.join(unread) or '-'} has no edge mark that can be counted.", "",
                         "Read its marks first: rigd rolls edge.")  # fmt: skip
    order = sorted(roll.strips.values(), key=lambda s: (starts[s.strip_id] or 0.0, s.number))
    pairs = [(replace(s, number=n), s) for n, s in enumerate(order, 1) if s.number != n]
    if not pairs:
        raise InputError("The strips are in the order of their marks already.", "", "There is nothing to do.")
    return await _commit(desk, [new for new, _ in pairs], [old for _, old in pairs], [], [], args.why, by)


async def undo(desk: Desk, args: Nothing, by: str) -> Corrected:
    """Take the last correction back; once more, and it holds again."""
    between_frames(desk)
    events = await _last(desk)
    backwards: list[AnyEvent] = []
    for event in reversed(events):
        await _require_unchanged(desk, event)
        backwards.append(_taken_back(event, by))
    await desk.hub.append(*backwards, *_refreshed(desk))
    strips = tuple(s for e in backwards if isinstance(e, StripsChanged) for s in e.strips)
    return Corrected(strips, tuple(f for e in backwards if isinstance(e, FramesMoved) for f in e.frames))


async def _commit(
    desk: Desk, now: list[Strip], was: list[Strip], moved: list[Frame], frames: list[FrameState], why: str, by: str
) -> Corrected:
    events: list[AnyEvent] = [StripsChanged(tuple(now), tuple(was), why, by)]
    if moved:
        events.append(FramesMoved(tuple(moved), tuple(f.frame for f in frames), why, by))
    await desk.hub.append(*events)
    again = _refreshed(desk)
    if again:
        await desk.hub.append(*again)
    return Corrected(tuple(now), tuple(moved))


def _refreshed(desk: Desk) -> list[AnyEvent]:
    """The strip in the gate laid anew, so that the place that comes next is right after frames came or went."""
    strip = desk.state.strip
    return [StripLoaded(strip)] if strip is not None and desk.state.frame_id is None else []


def _changed(strip: Strip, args: StripsAre, target: RollState, number: int | None) -> Strip:
    if args.places is not None and not 1 <= args.places <= 100:
        raise InputError(f"A strip cannot hold {args.places} frames.", "", "Use a number from 1 to 100.")
    return replace(
        strip,
        roll_id=target.roll.roll_id,
        number=strip.number if number is None else number,
        places=args.places or strip.places,
        emulsion=_OTHER[strip.emulsion] if args.flip else strip.emulsion,
        turn=180 - strip.turn if args.turn else strip.turn,
        tone=args.tone or strip.tone,
        colour=args.colour or strip.colour,
        assumed=False,
    )


def _require_free(target: RollState, changed: list[Strip]) -> None:
    """No two strips of one number: a mistake that nobody would find again."""
    moving = {strip.strip_id for strip in changed}
    taken = {s.number for i, s in target.strips.items() if i not in moving and frames_of(target, s)}
    double = [str(s.number) for s in changed if s.number in taken or not 1 <= s.number <= 999]
    if double:
        raise InputError(
            f"Roll {target.roll.label} cannot take strip {', '.join(double)}.", "It has such strips already.",
            "Give other numbers with first.",
        )  # fmt: skip


def _next_number(roll: RollState) -> int:
    return 1 + max((s.number for s in roll.strips.values()), default=0)


def _moved(frame: FrameState, strip: Strip, place: int) -> Frame:
    at = frame.frame
    return replace(at, roll_id=strip.roll_id, strip_id=strip.strip_id, place=at.place - place + 1)


def _first_mark(roll: RollState, strip: Strip) -> float | None:
    orders = [order for f in frames_of(roll, strip) if (order := order_of(f.frame.mark)) is not None]
    return min(orders, default=None)


async def _last(desk: Desk) -> list[StripsChanged | FramesMoved]:
    """The events of the last correction: those that were committed together, in their order."""
    end = desk.state.seq
    stop = max(0, end - _LOOKED_THROUGH)
    while end > stop:
        start = max(stop, end - _PAGE)
        found = [(c.at, c.event) for c in await desk.hub.ledger.read(start, end - start)]
        page = [(at, event) for at, event in found if isinstance(event, StripsChanged | FramesMoved)]
        if page:
            return [event for at, event in page if at == page[-1][0]]
        end = start
    raise NotFound("There is no correction to take back.", "None was made lately.", "Correct the strips anew.")


async def _require_unchanged(desk: Desk, event: StripsChanged | FramesMoved) -> None:
    if not event.was:
        raise InputError(
            "This correction cannot be taken back.", "What was believed before was not written down.",
            "Correct the strips anew.",
        )  # fmt: skip
    left: tuple[Strip | Frame, ...] = event.strips if isinstance(event, StripsChanged) else event.frames
    for one in left:
        roll = await known_roll(desk, one.roll_id)
        frame = roll.frames.get(one.frame_id) if isinstance(one, Frame) else None
        now = (frame.frame if frame else None) if isinstance(one, Frame) else roll.strips.get(one.strip_id)
        if now != one:
            key = one.frame_id if isinstance(one, Frame) else one.strip_id
            raise InputError(
                "Something was changed since the last correction.", f"{key} is not as it left it.",
                "Correct it by hand.",
            )  # fmt: skip


def _taken_back(event: StripsChanged | FramesMoved, by: str) -> AnyEvent:
    why = f"taken back: {event.why}" if event.why else "taken back"
    if isinstance(event, FramesMoved):
        return FramesMoved(event.was, event.frames, why, by)
    known = {strip.strip_id for strip in event.was}
    return StripsChanged(event.was, tuple(s for s in event.strips if s.strip_id in known), why, by)


CORRECT = Verb("strips/correct", StripsAre, Corrected, correct, StripsAre("31-", to="r-0002", why="other film"))
BEGAN = Verb("strips/began", StripBegan, Corrected, began, StripBegan(strip=4, place=5))
BY_EDGES = Verb("strips/by-edges", ByEdges, Corrected, by_edges, ByEdges("r-0001"))
UNDO = Verb("strips/undo", Nothing, Corrected, undo, Nothing())

VERBS = (CORRECT, BEGAN, BY_EDGES, UNDO)
