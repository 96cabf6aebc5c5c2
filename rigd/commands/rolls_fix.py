"""`rigd rolls correct` and its neighbours: what was found out later, over a range; marks, doubts, and undoing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.commands.rolls import rolls
from rigd.config import Settings
from rigd.model.words import Colour, Film, Tone
from rigd.operations import correcting, flagging, rejudging
from rigd.operations.correcting import Corrected
from rigd.operations.flagging import Said, ToDo
from rigd.operations.verb import Nothing

Command = TypeVar("Command", bound=Callable[..., Any])
_STRIPS = "Strips by number: 3, 3-5, 31-."


def some_options(command: Command) -> Command:
    """Which frames are meant."""
    for option in (
        click.option("--id", "ids", multiple=True, help="A frame by its id."),
        click.option("--frames", default="", help="Frames by their number on the roll: 3-5,8."),
        click.option("--strips", default="", help=_STRIPS),
        click.argument("roll", required=False),
    ):
        command = option(command)
    return command


@rolls.command()
@click.argument("roll", required=False)
@click.option("--strips", required=True, help=_STRIPS)
@click.option("--to", help="The roll they are of (id or label).")
@click.option("--flip", is_flag=True, help="They lay with the other side up.")
@click.option("--turn", is_flag=True, help="They were fed end for end.")
@click.option("--tone", type=click.Choice([t.value for t in Tone]))
@click.option("--colour", type=click.Choice([c.value for c in Colour]))
@click.option("--places", type=int, help="Frames that each holds.")
@click.option("--first", type=int, help="Number of the first of them; the others follow.")
@click.option("--judge-again", is_flag=True, help="Then judge their frames again, from the stored raws.")
@click.option("--why", default="")
@job_option
@json_option
@runs
async def correct(
    roll: str | None, strips: str, to: str | None, flip: bool, turn: bool, tone: str | None, colour: str | None,
    places: int | None, first: int | None, judge_again: bool, why: str, root: Path, as_json: bool,
) -> None:  # fmt: skip
    """Say what strips of ROLL really are, from one on if need be (31-). `rigd rolls undo` takes it back."""
    args = correcting.StripsAre(
        strips=strips, roll=roll, flip=flip, turn=turn, tone=Tone(tone) if tone else None,
        colour=Colour(colour) if colour else None, places=places, to=to, first=first, why=why,
    )  # fmt: skip
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(correcting.CORRECT, args)
        if judge_again:
            numbers = ",".join(str(strip.number) for strip in done.strips)
            await verbs.do(rejudging.JUDGE_AGAIN, flagging.Some(roll=done.strips[0].roll_id, strips=numbers))
    show(done, as_json, lambda: _corrected(done))


@rolls.command()
@click.argument("strip", type=int)
@click.argument("place", type=int)
@click.option("--roll", help="The roll of that strip.  [default: the current one]")
@click.option("--to", help="The roll that the further frames are of.")
@click.option("--why", default="")
@job_option
@json_option
@runs
async def began(
    strip: int, place: int, roll: str | None, to: str | None, why: str, root: Path, as_json: bool
) -> None:
    """Say that the next strip began at PLACE of STRIP: nobody said that it was laid."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(correcting.BEGAN, correcting.StripBegan(strip, place, roll, to, why))
    show(done, as_json, lambda: _corrected(done))


@rolls.command("by-edges")
@click.argument("roll", required=False)
@job_option
@json_option
@runs
async def by_edges(roll: str | None, root: Path, as_json: bool) -> None:
    """Number the strips of ROLL in the order of the edge marks on them."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(correcting.BY_EDGES, correcting.ByEdges(roll))
    show(done, as_json, lambda: _corrected(done))


@rolls.command()
@click.option("--mark", "frame", metavar="FRAME|last", help="Not a correction, but the last mark of a frame.")
@job_option
@json_option
@runs
async def undo(frame: str | None, root: Path, as_json: bool) -> None:
    """Take the last correction back; once more, and it holds again."""
    async with reach(root, Settings()) as verbs:
        if frame is not None:
            said = await verbs.do(flagging.UNDO, flagging.OneFrame(None if frame == "last" else frame))
            show(said, as_json, lambda: [f"Taken back: the last mark of {said.frames[0]}."])
            return
        done = await verbs.do(correcting.UNDO, Nothing())
    show(done, as_json, lambda: ["Taken back.", *_corrected(done)])


@rolls.command("mark")
@click.argument("film", type=click.Choice(["picture", "unexposed", "fogged", "none"]))
@some_options
@job_option
@json_option
@runs
async def mark_(
    film: str, roll: str | None, strips: str, frames: str, ids: tuple[str, ...], root: Path, as_json: bool
) -> None:
    """Say what the FILM of several frames shows; `none` takes the marks back."""
    args = flagging.Marking(roll, strips, frames, ids, None if film == "none" else Film(film))
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(flagging.MARK, args)
    show(done, as_json, lambda: _said(done))


@rolls.command()
@some_options
@job_option
@json_option
@runs
async def accept(
    roll: str | None, strips: str, frames: str, ids: tuple[str, ...], root: Path, as_json: bool
) -> None:
    """Say that you looked at the keepers of frames, and that they will do."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(flagging.ACCEPT, flagging.Some(roll, strips, frames, ids))
    show(done, as_json, lambda: _said(done))


@rolls.command()
@click.option("--why", default="asked for", show_default=True, help='Why; "" takes them off the list.')
@some_options
@job_option
@json_option
@runs
async def again(
    why: str, roll: str | None, strips: str, frames: str, ids: tuple[str, ...], root: Path, as_json: bool
) -> None:
    """Put frames on the list to take again."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(flagging.WANT, flagging.Wanting(roll, strips, frames, ids, why))
    show(done, as_json, lambda: _said(done))


@rolls.command()
@click.argument("frame")
@click.argument("takes", nargs=-1, required=True)
@job_option
@json_option
@runs
async def keep(frame: str, takes: tuple[str, ...], root: Path, as_json: bool) -> None:
    """Choose which TAKES of FRAME count (ids); the others are kept all the same."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(flagging.KEEP, flagging.Keeping(frame, takes))
    show(done, as_json, lambda: _said(done))


@rolls.command()
@click.argument("roll", required=False)
@click.option("--kind", type=click.Choice(["suspect", "again", "skipped", "open"]), default=None)
@job_option
@json_option
@runs
async def todo(roll: str | None, kind: str | None, root: Path, as_json: bool) -> None:
    """Frames that somebody should look at or go back to, of ROLL or of all."""
    async with reach(root, Settings()) as verbs:
        found = await verbs.do(flagging.TODO, flagging.Listing(roll, kind or ""))
    show(found, as_json, lambda: [_todo(one) for one in found] or ["Nothing to do."])


@rolls.command("judge-again")
@some_options
@job_option
@json_option
@runs
async def judge_again(
    roll: str | None, strips: str, frames: str, ids: tuple[str, ...], root: Path, as_json: bool
) -> None:
    """Judge frames again from their stored raws."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(rejudging.JUDGE_AGAIN, flagging.Some(roll, strips, frames, ids))
    words = f"{done.takes} takes judged again, {done.differ} differ, {len(done.frames)} keepers changed."
    show(done, as_json, lambda: [words])


@rolls.command()
@click.argument("what")
@click.option("--drifted", metavar="WHY", help="It is not as it was: frames since the last good look are in doubt.")
@job_option
@json_option
@runs
async def checked(what: str, drifted: str | None, root: Path, as_json: bool) -> None:
    """Record that you looked at WHAT of the set-up (focus, level, light), and that it is as it was."""
    async with reach(root, Settings()) as verbs:
        done = await verbs.do(flagging.CHECKED, flagging.Checked(drifted is None, what, drifted or ""))
    words = f"{len(done.frames)} frames are in doubt now: rigd rolls todo." if drifted is not None else "Noted."
    show(done, as_json, lambda: [words])


def _corrected(done: Corrected) -> list[str]:
    lines = [f"Strip {s.number} ({s.strip_id}): roll {s.roll_id}, emulsion {s.emulsion}, turned by {s.turn} degrees"
             for s in done.strips]  # fmt: skip
    return lines + [f"Frame {f.frame_id}: {f.strip_id} place {f.place}" for f in done.frames]


def _said(done: Said) -> list[str]:
    count = len(done.frames)
    return [f"{count} {'frame' if count == 1 else 'frames'}: {', '.join(done.frames)}"]


def _todo(one: ToDo) -> str:
    where = f", {one.where}" if one.where else ""
    why = f": {one.why}" if one.why else ""
    place = f"frame {one.number}, strip {one.strip} place {one.place}"
    return f"{one.kind}  {one.label}{where}  {place}  {one.frame_id}{why}"
