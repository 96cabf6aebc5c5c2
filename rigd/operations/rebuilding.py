"""Building the ledger anew from the folders of a job: the one verb that works where there is no ledger."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from datetime import UTC
from pathlib import Path

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from rigd import paths
from rigd.errors import InputError, LedgerHeld, NotFound, RigdError
from rigd.ledger import Ledger
from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.retell import Told, told_again
from rigd.model.state import RollState
from rigd.model.values import Roll
from rigd.operations.rebuilding_raws import Numbers, with_raws
from rigd.ports import Clock
from rigd.store.papers import JOB, ROLL, JobPaper, read_job, read_roll

# Events in one transaction: some MB.
_PORTION = 2000


class Found(Struct, frozen=True):
    """What the folders say: the job's paper, the rolls in the order of planning, what could not be read, and raws that
    no paper knew: their names told where they belong."""

    job: JobPaper
    rolls: tuple[RollState, ...]
    unread: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


class RebuiltLedger(Struct, frozen=True):
    """What the new ledger holds: rolls, frames, files; the files that are not there; papers that could not be read; the
    name under which the ledger before it is kept, "" if there was none; and raws `without` papers, whose names told
    where they belong and whose frames are in doubt."""

    rolls: int
    frames: int
    files: int
    missing: tuple[str, ...]
    unread: tuple[str, ...]
    kept: str
    without: tuple[str, ...] = ()


async def rebuild(root: Path, clock: Clock, replace_ledger: bool = False) -> RebuiltLedger:
    """Build the ledger of the job in `root` from its folders. No picture is touched.

    Args:
        replace_ledger: also where there is one; that one is kept under another name.

    Raises:
        InputError: there is a ledger. NotFound: the folders hold no papers. LedgerHeld: rigd has it open.
    """
    there = paths.ledger_file(root)
    if there.exists() and not replace_ledger:
        raise InputError(f"There is a ledger in {root} already.", "It would be put aside.",
                         "If it is lost or damaged indeed: rigd rebuild --replace.")  # fmt: skip
    found = await asyncio.to_thread(_read, root)
    if not found.rolls and found.job.job is None:
        raise NotFound(f"No folder in {root} holds a {ROLL}, and there is no {JOB}.", "Nothing says what it holds.",
                       "Name the job's folder with --job.")  # fmt: skip
    await _require_free(root, clock)
    kept = await asyncio.to_thread(_put_aside, there) if there.exists() else ""
    missing = await asyncio.to_thread(_missing, root, found)
    await _write(root, clock, found)
    files = sum(bool(t.path) for roll in found.rolls for t in roll.takes.values()) + len(found.job.loose)
    return RebuiltLedger(len(found.rolls), sum(len(r.frames) for r in found.rolls), files, missing, found.unread, kept,
                         found.without)  # fmt: skip


def _read(root: Path) -> Found:
    job, unread = JobPaper(), []
    rolls: dict[str, RollState] = {}
    for path in sorted([*root.glob(JOB), *root.glob(f"*/{ROLL}")]):
        try:
            if path.name == JOB:
                job = read_job(path.read_bytes())
                continue
            paper = read_roll(path.read_bytes())
        except (msgspec.DecodeError, OSError) as error:
            unread.append(f"{path.relative_to(root)}: {error}")
            continue
        job = job if job.job else replace(job, job=paper.job)
        rolls.setdefault(paper.state.roll.roll_id, paper.state)
    return _beside(root, Found(job, _in_order(job, rolls), tuple(unread)))


def _beside(root: Path, found: Found) -> Found:
    """With the raws that no paper knew."""
    known = {take.path for roll in found.rolls for take in roll.takes.values()}
    numbers = Numbers(*_counts(found)[:3])
    rolls: list[RollState] = []
    without: list[str] = []
    unread = list(found.unread)
    for roll in found.rolls:
        more, new, bad = with_raws(root, roll, known, numbers)
        rolls.append(more)
        without += new
        unread += bad
    counted = (*numbers.counted, found.job.counted[3])
    return Found(replace(found.job, counted=counted), tuple(rolls), tuple(unread), tuple(without))


def _in_order(job: JobPaper, rolls: dict[str, RollState]) -> tuple[RollState, ...]:
    """With those that are planned only, in the order of planning; what a roll's own paper says is newer."""
    plans: dict[str, Roll] = {roll.roll_id: roll for roll in job.rolls}
    ids = sorted({*plans, *rolls}, key=lambda i: (len(i), i))
    return tuple(replace(rolls.get(i) or RollState(plans[i]), place=n) for n, i in enumerate(ids, 1))


async def _require_free(root: Path, clock: Clock) -> None:
    """A ledger that cannot be opened is no hindrance; one that another rigd has open is."""
    if not paths.ledger_file(root).exists():
        return
    try:
        await (await Ledger.open(root, clock.now)).close()
    except LedgerHeld:
        raise
    except RigdError:
        pass


def _put_aside(ledger: Path) -> str:
    number = 1
    while (kept := ledger.with_name(f"{ledger.stem}.before-{number}{ledger.suffix}")).exists():
        number += 1
    ledger.rename(kept)
    journal = ledger.with_name(f"{ledger.name}-journal")
    if journal.exists():
        journal.rename(kept.with_name(f"{kept.name}-journal"))
    return kept.name


def _missing(root: Path, found: Found) -> tuple[str, ...]:
    takes = [take for roll in found.rolls for take in roll.takes.values()] + list(found.job.loose.values())
    return tuple(take.path for take in takes if take.path and not (root / take.path).is_file())


async def _write(root: Path, clock: Clock, found: Found) -> None:
    """Each event gets the time at which it happened, as far as that is known: paces come from it."""
    times = [take.at for roll in found.rolls for take in roll.takes.values() if take.at]
    now = min(times, default=clock.now()).astimezone(UTC)
    moment = [now]
    ledger = await Ledger.open(root, lambda: moment[0])
    try:
        part: list[ev.AnyEvent] = []
        for at, event in _story(found):
            new = at.astimezone(UTC) if at else moment[0]
            if part and (new != moment[0] or len(part) >= _PORTION):
                await ledger.append(*part)
                part = []
            moment[0] = new
            part.append(event)
        moment[0] = clock.now() if not part else moment[0]
        await ledger.append(*part)
        moment[0] = clock.now()
        await ledger.append(_rebuilt(found))
    finally:
        await ledger.close()


def _story(found: Found) -> Iterator[Told]:
    paper = found.job
    if paper.job is not None:
        yield None, ev.JobOpened(paper.job)
    if paper.setup is not None:
        yield None, ev.SetupDescribed(paper.setup)
    if paper.lamp is not None:
        yield None, paper.lamp
    yield from told_again(found.rolls, paper.loose.values())
    for stray in paper.strays.values():
        yield None, stray
    for path, why in paper.dismissed.items():
        yield None, ev.Unclaimed(path, path.rpartition("/")[2], 0, "dismissed")
        yield None, late.StrayDismissed(path, why, "rebuilt")


def _rebuilt(found: Found) -> late.Rebuilt:
    takes = sum(len(roll.takes) for roll in found.rolls) + len(found.job.loose)
    return late.Rebuilt(takes, "", *_counts(found))


def _counts(found: Found) -> list[int]:
    """How many takes, frames, strips and rolls there had been, as far as anybody knows."""
    ids = (
        {t for roll in found.rolls for t in roll.takes} | set(found.job.loose),
        {f for roll in found.rolls for f in roll.frames},
        {s for roll in found.rolls for s in roll.strips},
        {roll.roll.roll_id for roll in found.rolls},
    )
    return [max(seen, _highest(some)) for seen, some in zip(found.job.counted, ids, strict=True)]


def _highest(ids: set[str]) -> int:
    return max((int(number) for i in ids if (number := i.rpartition("-")[2]).isdecimal()), default=0)
