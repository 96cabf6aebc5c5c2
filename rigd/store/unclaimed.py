"""Files that belong to no take: kept apart, never deleted."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from rigd import paths
from rigd.store.disk import Disk
from rigd.store.hashing import copy_file, digest_of, flush
from rigd.store.naming import free_name, plain
from rigd.store.parts import is_part, part_name, take_of
from rigd.store.placing import NO_LINKS, Folders, place_new

NOTES = "why.txt"


def sweep(disk: Disk, folders: Folders, root: Path, known: set[str]) -> Iterator[Path]:
    """Move each temporary file of a take that is not `known`; yields where it is now. Raises OSError."""
    for part in _parts(root):
        if take_of(part.name) in known:
            continue
        other = _other_name(part, (part.parent, paths.unclaimed_folder(root)))
        if other is not None:
            # A crash came between the two names of one file: once the other is on the medium, this one can go.
            disk.sync_folder(other.parent)
            disk.unlink(part)
            continue
        where = part.parent.relative_to(root).as_posix().replace("/", "-")
        flush(disk, part)
        place = keep(disk, folders, root, part, f"{where}-{take_of(part.name)}.part")
        note(disk, place, "found at the start; no take accounts for it")
        yield place


def keep(disk: Disk, folders: Folders, root: Path, part: Path, name: str) -> Path:
    """Move `part` into the folder for such files, under `name` as far as that is free; durable. Raises OSError."""
    folder = folders.ready(paths.unclaimed_folder(root))
    place = folder / free_name(plain(name, "file"), (NOTES, *(there.name for there in folder.iterdir())))
    place_new(disk, part, place)
    return place


def name_too(disk: Disk, stray: Path, final: Path, content: tuple[str, int]) -> None:
    """Give a file a second, durable name, or a second copy where the file system has no links. A file of that name with
    the same (sha256, size) is what a crash left. Raises FileExistsError, OSError."""
    part = final.with_name(part_name(f"adopt-{stray.name}"))
    with contextlib.suppress(FileNotFoundError):
        disk.unlink(part)
    try:
        disk.link(stray, part)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        copy_file(disk, stray, part)
    try:
        place_new(disk, part, final)
    except FileExistsError:
        disk.unlink(part)
        if digest_of(disk, final) != content:
            raise
        disk.sync_folder(final.parent)


def note(disk: Disk, place: Path, why: str) -> None:
    """Write down beside the file why it is there, for whoever finds it without rigd."""
    descriptor = disk.open(place.parent / NOTES, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    try:
        disk.write(descriptor, f"{place.name}: {' '.join(why.split())}\n".encode())
        disk.fsync(descriptor)
    finally:
        disk.close(descriptor)
    disk.sync_folder(place.parent)


def _parts(root: Path) -> list[Path]:
    """Every temporary file below `root`, those set aside left out; found before the first is moved."""
    found: list[Path] = []
    for folder, inner, names in os.walk(root):
        if Path(folder) == root:
            inner[:] = [name for name in inner if name not in (paths.UNCLAIMED, paths.PREVIEWS)]
        found.extend(Path(folder) / name for name in names if is_part(name))
    return sorted(found)


def _other_name(part: Path, folders: Iterable[Path]) -> Path | None:
    """The final name, in one of the folders, of the file whose temporary name is `part`; None if it has none."""
    ours = part.lstat()
    if ours.st_nlink < 2:
        return None
    there = (path for folder in folders if folder.is_dir() for path in folder.iterdir())
    return next((p for p in there if not is_part(p.name) and os.path.samestat(p.lstat(), ours)), None)
