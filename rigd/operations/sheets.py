"""Contact sheets of rolls: positives by strip, from what was drawn before or anew from the raws."""

from __future__ import annotations

import asyncio
from typing import Literal

from msgspec import Struct

from rigd.errors import RigdError
from rigd.model.state import FrameState, RollState
from rigd.model.values import Job
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll
from rigd.operations.positives import pixels_of
from rigd.operations.verb import Args, Verb
from rigd.sheets import PAPERS, PICTURE_PX, contact, draw_pdf, draw_png, lay_out
from rigd.sheets.values import RGB8
from rigd.store.naming import plain

# As many pictures at a time as decoding keeps two cores busy with.
_AT_ONCE = 2


class SheetOf(Args, frozen=True):
    """`roll`: id or label; left out, the current one."""

    roll: str | None = None
    paper: Literal["A4", "Letter"] = "A4"
    form: Literal["pdf", "png"] = "pdf"


class Sheet(Struct, frozen=True):
    """A contact sheet: one PDF, or one PNG a page. `name` what its file may be called, without a suffix; `frames` how
    many frames it shows; `blank` those of them of which there is no picture, by id, with the reason."""

    roll: str
    name: str
    files: tuple[bytes, ...]
    pages: int
    frames: int
    blank: dict[str, str] = {}


async def sheet(desk: Desk, args: SheetOf, by: str) -> Sheet:
    """The contact sheet of a roll: its positives by strip, with numbers, edge marks, verdicts and what is told."""
    roll = await known_roll(desk, args.roll)
    positives, blank = await _positives(desk, roll)
    files, pages = await asyncio.to_thread(_drawn, desk.state.job, roll, positives, args)
    return Sheet(roll.roll.label, f"{plain(roll.roll.label)}-contact", files, pages, len(roll.frames), blank)


def _drawn(
    job: Job | None, roll: RollState, positives: dict[str, RGB8], args: SheetOf
) -> tuple[tuple[bytes, ...], int]:
    pages = lay_out(contact(job, roll, positives), PAPERS[args.paper])
    if args.form == "png":
        return tuple(draw_png(page) for page in pages), len(pages)
    title = f"{roll.roll.label}, contact sheet"
    return (draw_pdf(pages, title, job.title if job else ""),), len(pages)


async def _positives(desk: Desk, roll: RollState) -> tuple[dict[str, RGB8], dict[str, str]]:
    """What there is by frame id, and why the others are blank. A picture that cannot be drawn stops no sheet."""
    found: dict[str, RGB8] = {}
    blank: dict[str, str] = {}
    turn = asyncio.Semaphore(_AT_ONCE)

    async def one(frame: FrameState) -> None:
        frame_id, take_id = frame.frame.frame_id, shown_take(roll, frame)
        if take_id is None:
            blank[frame_id] = "It has no file."
            return
        async with turn:
            try:
                found[frame_id] = await pixels_of(desk, roll, roll.takes[take_id], PICTURE_PX)
            except RigdError as error:
                blank[frame_id] = str(error)

    await asyncio.gather(*(one(frame) for frame in roll.frames.values()))
    return found, blank


def shown_take(roll: RollState, frame: FrameState) -> str | None:
    """The take that stands for a frame: its keeper, else the newest with a file; None where there is none."""
    known = [t for t in (*frame.keeper, *reversed(frame.takes)) if t in roll.takes and roll.takes[t].path]
    return known[0] if known else None


# Of a whole roll that was never looked at, each raw is decoded: up to three seconds for 60 MP in lossless JPEG.
SHEET = Verb("rolls/sheet", SheetOf, Sheet, sheet, SheetOf("r-0001"), reads=True, patience_s=900.0)

VERBS = (SHEET,)
