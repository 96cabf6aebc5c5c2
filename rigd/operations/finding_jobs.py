"""Finding rolls in all jobs that this machine knows, whether their disks are there or not."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Iterable
from pathlib import Path

from msgspec import Struct

from rigd.errors import InputError, NotFound, RigdError
from rigd.hub import Subscription
from rigd.model.found import Found, KnownJob, KnownRoll, found, matches
from rigd.operations.desk import Desk
from rigd.operations.verb import Args, Verb
from rigd.paths import ledger_file
from rigd.store.known import all_known, forget, read_known, write_known

# More are no answer to anybody: another word is asked for.
MOST = 200
# What happens within so many seconds is written at one stroke: 25,000 rolls take half a second.
_PAUSE_S = 20.0


class Words(Args, frozen=True):
    """All of the words are told of each roll that is found."""

    words: tuple[str, ...]
    limit: int = 50


class FindReport(Struct, frozen=True):
    """`rolls` in the order of their jobs' titles and of planning; `more`: there are others; `jobs` that were looked
    through; `unread`: files of jobs that cannot be read."""

    rolls: tuple[Found, ...]
    more: bool
    jobs: int
    unread: tuple[str, ...] = ()


async def find(desk: Desk, args: Words, by: str) -> FindReport:
    """Rolls of all jobs that this machine knows, by title, place, date, stock, label or where they lie."""
    with contextlib.suppress(OSError):
        await remember(desk)
    return await asyncio.to_thread(find_everywhere, args.words, min(MOST, max(1, args.limit)))


def find_everywhere(words: Iterable[str], limit: int) -> FindReport:
    """The same without any job open. Blocking.

    Raises:
        InputError: no word was given. BadSetting: the private folder is not private.
    """
    asked = [word for part in words for word in part.split()]
    if not asked:
        raise InputError("No word was given.", "", "Say something that is told of the roll: a place, a year, a shelf.")
    known = list(all_known())
    jobs = sorted((job for _, job in known if job is not None), key=lambda job: (job.job.title, job.root))
    hits: list[Found] = []
    for job in jobs:
        there = ledger_file(Path(job.root)).exists()
        hits.extend(found(job, one, there) for one in matches(job, asked))
        if len(hits) > limit:
            break
    unread = tuple(name for name, job in known if job is None)
    return FindReport(tuple(hits[:limit]), len(hits) > limit, len(jobs), unread)


def forget_job(name: str) -> str:
    """Take a job off the list of those that are looked through, by its folder or id; its title. Blocking.

    Raises:
        NotFound: no job of that name is known.
    """
    for job_id, job in all_known():
        if name == job_id or (job is not None and name in (job.root, job.job.job_id)):
            forget(job_id)
            return job.job.title if job else job_id
    raise NotFound(f"No job {name} is known.", "", "See their folders: rigd find WORD.")


async def remember(desk: Desk) -> None:
    """Write down what is known of the open job, if that is not what was written last. Raises OSError, BadSetting."""
    job, seq = desk.state.job, desk.state.seq
    if job is None:
        return
    before = await asyncio.to_thread(read_known, job.job_id)
    root = str(desk.root.resolve())
    if before is not None and (before.seq, before.root) == (seq, root):
        return
    lines = await desk.hub.look.lines()
    rolls = tuple(KnownRoll(line.roll, line.closed, line.tally, line.words) for line in lines)
    await asyncio.to_thread(write_known, KnownJob(job, root, seq, desk.clock.now(), rolls))


async def keep_remembering(desk: Desk) -> None:
    """Beside a running daemon: a while after each change. Runs until it is cancelled."""
    while True:
        listener = desk.hub.subscribe()
        try:
            await _first_of(listener)
        finally:
            desk.hub.leave(listener)
        await desk.clock.sleep(_PAUSE_S)
        with contextlib.suppress(OSError, RigdError):
            await remember(desk)


async def _first_of(listener: Subscription) -> None:
    async for item in listener:
        if getattr(item, "event", None) is not None:
            return


FIND = Verb("find", Words, FindReport, find, Words(("quay", "1957")), reads=True, host=True)

VERBS = (FIND,)
