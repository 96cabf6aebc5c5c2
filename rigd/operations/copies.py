"""Verbs of the second copy: where it goes, how far it is, make it now."""

from __future__ import annotations

import asyncio
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from rigd.errors import FileChanged, NotReady
from rigd.model.events import JobOpened
from rigd.operations.desk import Desk
from rigd.operations.finding import open_job
from rigd.operations.verb import Args, Nothing, Verb
from rigd.store.second import SecondCopy, begin

# A first copy of a whole job to a slow disk: 100,000 frames of 60 MB at 80 MB/s take most of a day.
_PATIENCE_S = 86_400.0


class CopyTo(Args, frozen=True):
    """`folder` on another disk, in full; "" for no second copy. `same_disk`: let it be on the job's own, for a try."""

    folder: str
    same_disk: bool = False


class CopyState(Struct, frozen=True):
    """`copied` of `files` have a verified copy in the folder `to` ("": there is to be none); `trouble`: why it does not
    go on."""

    to: str
    copied: int
    files: int
    trouble: str = ""


class CopyReport(Struct, frozen=True):
    """Copies that were read back, and those that are missing or not like the file they are a copy of."""

    files: int
    bad: tuple[str, ...]


async def copy_to(desk: Desk, args: CopyTo, by: str) -> CopyState:
    """Say where the second copy goes. The copies are made while no take is in hand."""
    job = open_job(desk)
    if args.folder:
        to = Path(args.folder)
        await asyncio.to_thread(begin, desk.root, to, job.job_id, job.title, args.same_disk)
    await desk.hub.append(JobOpened(replace(job, copy_to=args.folder)))
    desk.copying.ask_again()
    await desk.copying.tell()
    return await _state(desk)


async def look(desk: Desk, args: Nothing, by: str) -> CopyState:
    """How many files have a verified second copy."""
    return await _state(desk)


async def copy_now(desk: Desk, args: Nothing, by: str) -> CopyState:
    """Make all copies that are due now, and wait for their end."""
    second_copy(desk)
    desk.papers.doubt_all()
    await desk.papers.catch_up()
    await desk.copying.catch_up()
    return await _state(desk)


async def verify_copies(desk: Desk, args: Nothing, by: str) -> CopyReport:
    """Read every copy back from the other disk and compare it with the ledger."""
    second, to = second_copy(desk)
    files, bad, last = 0, [], ""
    while page := await desk.hub.look.stored(last):
        last = page[-1].take_id
        for take in page:
            if to not in take.copied:
                continue
            files += 1
            try:
                await asyncio.to_thread(second.verify, take.path, take.sha256, take.bytes)
            except FileChanged:
                bad.append(take.path)
    return CopyReport(files, tuple(bad))


async def _state(desk: Desk) -> CopyState:
    to = desk.state.job.copy_to if desk.state.job else ""
    copied, files = await desk.hub.look.copies(to)
    return CopyState(to, copied if to else 0, files, desk.hub.vitals.copy_trouble)


def second_copy(desk: Desk) -> tuple[SecondCopy, str]:
    """The second copy of this job, and its folder. Raises NotReady where there is none."""
    job = open_job(desk)
    if not job.copy_to:
        raise NotReady("This job has no second copy.", "Nobody has said where it goes.",
                       "Name a folder on another disk: rigd copy to FOLDER.")  # fmt: skip
    return SecondCopy(desk.root, Path(job.copy_to), job.job_id), job.copy_to


COPY_TO = Verb("copies/to", CopyTo, CopyState, copy_to, CopyTo("/media/shelf-2/vessling"), host=True)
LOOK = Verb("copies/look", Nothing, CopyState, look, Nothing(), reads=True)
NOW = Verb("copies/now", Nothing, CopyState, copy_now, Nothing(), host=True, patience_s=_PATIENCE_S)
VERIFY = Verb("copies/verify", Nothing, CopyReport, verify_copies, Nothing(), host=True, patience_s=_PATIENCE_S)

VERBS = (COPY_TO, LOOK, NOW, VERIFY)
