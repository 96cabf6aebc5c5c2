"""Reading everything back: which files are missing or changed, and which belong to nothing."""

from __future__ import annotations

import asyncio
import hashlib
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Literal

from msgspec import Struct

from rigd import paths
from rigd.engine.taking import SETUP_FOLDER
from rigd.errors import StoreError
from rigd.model.events import Damaged, Verified
from rigd.model.values import Take
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll
from rigd.operations.verb import Args, Nothing, Verb
from rigd.store import manifest
from rigd.store.papers import FRAMES, JOB, ROLL
from rigd.store.parts import is_part
from rigd.store.sidecar import sidecar_name
from rigd.store.whole import FRESH

FileState = Literal["ok", "missing", "changed"]

# What rigd itself keeps in the job's folder, beside folders of rolls.
_OWN = (paths.LOCK, paths.BALLAST, JOB)
# Folders with files of which the ledger tells nothing: what nobody asked for, and what can be drawn again.
_APART = (paths.UNCLAIMED, paths.PREVIEWS)


class VerifyLine(Struct, frozen=True):
    """One file: `ok`, or what is wrong with it and what to do."""

    take_id: str
    path: str
    ok: bool
    why: str = ""
    state: FileState = "ok"


class VerifyReport(Struct, frozen=True):
    """Every picture file that the ledger knows; `bad` counts those that are missing or changed. `papers`: sidecars and
    lists that are missing or not as they were written; `surplus`: files that belong to nothing rigd knows of."""

    files: int
    bad: int
    lines: tuple[VerifyLine, ...]
    papers: tuple[str, ...] = ()
    surplus: tuple[str, ...] = ()


async def verify(desk: Desk, *, roll_id: str | None = None) -> VerifyReport:
    """Read every stored file back and compare it with the ledger; findings are recorded."""
    roll = (await known_roll(desk, roll_id)).roll if roll_id is not None else None
    lines: list[VerifyLine] = []
    last = ""
    while page := await desk.hub.look.stored(last, roll_id=roll.roll_id if roll else None):
        lines.extend([await _verified(desk, take) for take in page])
        last = page[-1].take_id
    await desk.papers.catch_up()
    folders = await asyncio.to_thread(_folders, desk.root, roll.folder if roll else None)
    found = [await _folder(desk, folder) for folder in folders]
    papers = tuple(path for odd, _ in found for path in odd)
    surplus = tuple(path for _, more in found for path in more)
    return VerifyReport(len(lines), sum(not line.ok for line in lines), tuple(lines), papers, surplus)


class PapersOf(Args, frozen=True):
    """`roll` left out: those of all rolls."""

    roll: str | None = None


async def write_papers(desk: Desk, args: PapersOf, by: str) -> Nothing:
    """Write sidecars, lists and checksums of a roll, or of all, where they say something else than the ledger."""
    if args.roll is None:
        await desk.papers.doubt_every_roll()
        desk.papers.doubt_all()
    else:
        desk.papers.doubt((await known_roll(desk, args.roll)).roll.roll_id)
    await desk.papers.catch_up()
    return Nothing()


async def _verified(desk: Desk, take: Take) -> VerifyLine:
    try:
        await asyncio.to_thread(desk.store.verify, take.path, take.sha256, take.bytes)
    except StoreError as error:
        await desk.hub.append(Damaged(take.take_id, str(error)))
        there = await asyncio.to_thread((desk.root / take.path).exists)
        return VerifyLine(take.take_id, take.path, False, str(error), "changed" if there else "missing")
    if not take.verified:
        await desk.hub.append(Verified(take.take_id))
    return VerifyLine(take.take_id, take.path, True)


def _folders(root: Path, only: str | None) -> list[str]:
    """The folders below the job's, those of unclaimed files and of previews left out; "" is the job's own."""
    if only is not None:
        return [only] if (root / only).is_dir() else []
    inside = [Path(folder).relative_to(root).as_posix() for folder, _, _ in os.walk(root)]
    return ["" if name == "." else name for name in inside if name.partition("/")[0] not in _APART]


async def _folder(desk: Desk, folder: str) -> tuple[list[str], list[str]]:
    """Papers of a folder that are not as they were written, and files that belong to nothing."""
    raws = [path for _, path in await desk.hub.look.files_in(folder)] if folder else []
    working = desk.state.working or ""
    return await asyncio.to_thread(_compare, desk.root, folder, raws, working)


def _compare(root: Path, folder: str, raws: list[str], working: str) -> tuple[list[str], list[str]]:
    place = root / folder
    names = {one.name for one in place.iterdir() if one.is_file() and not _is_left_over(one.name)}
    raw_names = {Path(path).name for path in raws if Path(path).parent == Path(folder)}
    sidecars = {sidecar_name(name) for name in raw_names}
    own = {*raw_names, *sidecars, *(_own(names) if not folder else (FRAMES, ROLL, paths.MANIFEST))}
    surplus = sorted(name for name in names - own if not (is_part(name) and working and working in name))
    odd = _odd_papers(place, raw_names) if raw_names else []
    return [_joined(folder, name) for name in odd], [_joined(folder, name) for name in surplus]


def _is_left_over(name: str) -> bool:
    """What a power cut left of a list that was being written; the next writing goes over it."""
    return name.startswith(".") and name.endswith(FRESH)


def _odd_papers(place: Path, raws: Iterable[str]) -> list[str]:
    """Papers that the checksum list names and that are not so, and raws that it does not name."""
    try:
        listed = manifest.read((place / paths.MANIFEST).read_bytes())
    except OSError:
        return [paths.MANIFEST]
    papers = {name: digest for name, digest in listed.items() if name not in raws}
    odd = [name for name, digest in papers.items() if _sha256(place / name) != digest]
    if place.name != SETUP_FOLDER:  # what is no picture of film has nothing to be told of
        odd += [sidecar_name(name) for name in raws if sidecar_name(name) not in listed]
    return sorted(odd)


def _sha256(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def _own(names: set[str]) -> set[str]:
    return {*_OWN, *(name for name in names if name.startswith(f"{Path(paths.LEDGER).stem}."))}


def _joined(folder: str, name: str) -> str:
    return f"{folder}/{name}" if folder else name


PAPERS = Verb("papers/write", PapersOf, Nothing, write_papers, PapersOf("r-0001"), patience_s=1800.0)

VERBS = (PAPERS,)
