"""The files of one job: from the camera's last byte to a durable file with a checksum, and back again.

A file is safe when its bytes are hashed and on the medium, its name too, and the ledger's row is committed after that.
Every method blocks: call them in a thread. The ledger is told by the caller.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable, Mapping
from pathlib import Path, PurePosixPath

from msgspec import Struct

from rigd import paths
from rigd.errors import FileChanged, InputError, StoreError
from rigd.store import hashing, manifest, unclaimed, whole
from rigd.store.ballast import Ballast
from rigd.store.disk import Disk
from rigd.store.faults import translated
from rigd.store.naming import free_name
from rigd.store.papers import FRAMES, ROLL
from rigd.store.parts import is_part, part_name
from rigd.store.placing import Folders, place_new
from rigd.store.previews import Previews
from rigd.store.room import Gauge, Room
from rigd.store.sidecar import sidecar_name
from rigd.store.xmp import is_untouched


class StoredFile(Struct, frozen=True):
    """A file that is safe: `path` relative to the job's folder, `sha256` in hexadecimal, size in bytes."""

    path: str
    sha256: str
    bytes: int


class Store:
    """Puts files into the folder of one job, and never replaces or deletes one that is not its own temporary file."""

    def __init__(self, root: Path, disk: Disk | None = None) -> None:
        self.root = root
        self._disk = disk or Disk()
        self._folders = Folders(root, self._disk)
        self._gauge = Gauge()
        self.previews = Previews(root)
        self.ballast = Ballast(paths.ballast_file(root), self._disk)

    def part_path(self, folder: str, take_id: str) -> Path:
        """Where the file of a take is to be written first (with O_EXCL): in its own folder, which is made if missing.

        Raises:
            DiskFull, DiskFaulty: the folder could not be made.
        """
        with translated(f"Making the folder {folder}"):
            return self._folders.ready(self._inside(folder)) / part_name(take_id)

    def secure(self, part: Path, folder: str, name: str, expect_bytes: int | None) -> StoredFile:
        """Make a complete temporary file safe under its name. Nothing is tried twice: after an error, fetch again.

        A file of that name with the very same bytes is what a crash before the ledger's row left: it is taken over.

        Args:
            expect_bytes: the size that the camera told, where it did.

        Raises:
            FileChanged: the size differs from the camera's.
            StoreError: there is another file of that name.
            DiskFull, DiskFaulty: the disk failed; `part` stays, its bytes are in doubt.
        """
        final = self._inside(folder) / _plain_name(name)
        with translated(f"Storing {name}"):
            self._require_size(part, name, expect_bytes)
            self._folders.ready(final.parent)
            sha256, size = hashing.digest_and_flush(self._disk, part)
            self._place(part, final, sha256, size)
        self._gauge.note(size)
        return StoredFile(final.relative_to(self.root).as_posix(), sha256, size)

    def verify(self, path: str, sha256: str, nbytes: int) -> None:
        """Read a stored file back from the medium and compare.

        Raises:
            FileChanged: it is gone, or its bytes are not those that were stored. DiskFaulty: it cannot be read.
        """
        with translated(f"Reading {path} back"):
            try:
                found = hashing.digest_of(self._disk, self._inside(path), from_medium=True)
            except (FileNotFoundError, NotADirectoryError):
                raise FileChanged(f"{path} is gone.", "It was stored, and is not there now.", _RESTORE) from None
        if found != (sha256, nbytes):
            raise FileChanged(
                f"{path} is not what was stored.", f"{found[1]} of {nbytes} bytes, other checksum.", _RESTORE
            )

    def write_manifest(self, folder: str, entries: Iterable[tuple[str, str]]) -> None:
        """Write the checksum list of a folder anew, at one stroke.

        Args:
            entries: (sha256, path) of each file in it; paths relative to the job's folder.

        Raises:
            DiskFull, DiskFaulty: the list stays as it was.
        """
        listed = [(sha256, PurePosixPath(path).relative_to(folder).as_posix()) for sha256, path in entries]
        with translated(f"Writing the checksum list of {folder}"):
            manifest.write(self._disk, self._folders.ready(self._inside(folder)), manifest.lines(listed))

    def write_papers(self, papers: Mapping[str, bytes]) -> tuple[str, ...]:
        """Write small files that say what the folders hold, each at one stroke, where they say something else by now.
        A sidecar that somebody else changed is kept under another name.

        Returns:
            The paths that were written.

        Raises:
            DiskFull, DiskFaulty: each is as it was, or as it should be.
        """
        changed = []
        with translated("Writing what the folders hold"):
            for path, body in papers.items():
                place = self._folders.ready(self._inside(path).parent) / PurePosixPath(path).name
                if self._write_paper(place, body):
                    changed.append(path)
            for folder in {self._inside(path).parent for path in changed}:
                self._disk.sync_folder(folder)
        return tuple(changed)

    def list_folder(self, folder: str, raws: Iterable[tuple[str, str]]) -> None:
        """Write the checksum list of a folder anew, at one stroke: of its raws, and of the papers that lie there.

        Args:
            raws: (sha256, path) of each raw that the ledger knows in it.

        Raises:
            DiskFull, DiskFaulty: the list stays as it was.
        """
        known = list(raws)
        names = [*(sidecar_name(path) for _, path in known), f"{folder}/{FRAMES}", f"{folder}/{ROLL}"]
        with translated(f"Reading the papers of {folder}"):
            there = [(path, whole.read(self._disk, self._inside(path))) for path in dict.fromkeys(names)]
        papers = [(hashlib.sha256(body).hexdigest(), path) for path, body in there if body is not None]
        self.write_manifest(folder, [*known, *papers])

    def quarantine(self, known: set[str]) -> tuple[Path, ...]:
        """At start: move temporary files that no take accounts for to `unclaimed/`; where they are now.

        Args:
            known: ids of the takes whose temporary file may still be needed.
        """
        with translated("Looking for files that belong to no take"):
            return tuple(unclaimed.sweep(self._disk, self._folders, self.root, known))

    def set_aside(self, part: Path, name: str, why: str) -> str:
        """Keep a file that nobody asked for: durable in `unclaimed/`, under its own name as far as that is free.

        Returns:
            Its path relative to the job's folder. `why` is written down beside it.
        """
        with translated(f"Setting {name} aside"):
            hashing.flush(self._disk, part)
            place = unclaimed.keep(self._disk, self._folders, self.root, part, name)
            unclaimed.note(self._disk, place, why)
        return place.relative_to(self.root).as_posix()

    def adopt(self, path: str, folder: str, name: str) -> StoredFile:
        """Give an unclaimed file a name in `folder` too. Its old name stays until the ledger has the new one, and
        `forget_stray` was called.

        Raises:
            StoreError: there is another file of that name. DiskFull, DiskFaulty: it has the old name alone.
        """
        stray, final = self._inside(path), self._inside(folder) / _plain_name(name)
        with translated(f"Storing {name}"):
            self._folders.ready(final.parent)
            sha256, size = hashing.digest_and_flush(self._disk, stray)
            try:
                unclaimed.name_too(self._disk, stray, final, (sha256, size))
            except FileExistsError:
                raise _another(final) from None
        return StoredFile(final.relative_to(self.root).as_posix(), sha256, size)

    def forget_stray(self, path: str) -> None:
        """Take away the old name of an unclaimed file that `adopt` gave another one. InputError for any other file."""
        stray = self._inside(path)
        if stray.parent != paths.unclaimed_folder(self.root):
            raise InputError(f"{path} is no unclaimed file.", "Nothing else is ever deleted.", "Name one of them.")
        with translated(f"Taking {stray.name} out of the unclaimed files"), contextlib.suppress(FileNotFoundError):
            self._disk.unlink(stray)
            self._disk.sync_folder(stray.parent)

    def room(self) -> Room:
        """What still fits on the volume. Raises DiskFaulty."""
        with translated("Measuring free room"):
            return self._gauge.read(self._disk, self.root)

    def erase_part(self, part: Path) -> None:
        """Delete a temporary file of ours, if it is there. Any other name is refused with InputError."""
        if not is_part(part.name) or not part.is_relative_to(self.root):
            raise InputError(
                f"{part} is no temporary file of this job.", "Nothing else is ever deleted.", "Name one of them.",
            )  # fmt: skip
        with translated("Removing a temporary file"), contextlib.suppress(FileNotFoundError):
            self._disk.unlink(part)

    def _write_paper(self, place: Path, body: bytes) -> bool:
        before = whole.read(self._disk, place)
        if before == body:
            return False
        if before is not None and place.suffix == ".xmp" and not is_untouched(before):
            names = [there.name for there in place.parent.iterdir()]
            self._disk.rename(place, place.with_name(free_name(f"{place.stem}.theirs.xmp", names)))
        whole.write(self._disk, place, body)
        return True

    # -- steps ---------------------------------------------------------------------------------------------------

    def _inside(self, path: str) -> Path:
        parts = PurePosixPath(path)
        if parts.is_absolute() or ".." in parts.parts or not path:
            raise InputError(f"{path!r} is not below the job's folder.", "", "Use a path relative to it.")
        return self.root / parts

    def _require_size(self, part: Path, name: str, expect: int | None) -> None:
        size = self._disk.stat(part).st_size
        if expect is not None and size != expect:
            raise FileChanged(f"{name} has {size} bytes, but the camera has {expect}.", "It did not arrive whole.",
                              "Fetch it again.")  # fmt: skip

    def _place(self, part: Path, final: Path, sha256: str, size: int) -> None:
        try:
            place_new(self._disk, part, final)
        except FileExistsError:
            if not self._is_that_file(part, final, sha256, size):
                raise _another(final) from None
            self._disk.sync_folder(final.parent)
            self._disk.unlink(part)

    def _is_that_file(self, part: Path, final: Path, sha256: str, size: int) -> bool:
        found, ours = self._disk.stat(final), self._disk.stat(part)
        if os.path.samestat(found, ours):
            return True
        return found.st_size == size and hashing.digest_and_flush(self._disk, final) == (sha256, size)


_RESTORE = "Restore it from a copy, or take the frame again."


def _another(final: Path) -> StoreError:
    return StoreError(f"There is another file {final.name} already.", "A stored file is never replaced.",
                      "Move it away, then fetch the take again.")  # fmt: skip


def _plain_name(name: str) -> str:
    if "/" in name or name.startswith(".") or not name:
        raise InputError(f"{name!r} is no name for a stored file.", "", "Use a plain name.")
    return name
