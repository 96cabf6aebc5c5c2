"""The second copy of a job: one folder on another disk or a mounted share, of whatever file system.

A copy counts when it was read back from its disk and has the checksum that was stored. Nothing there is ever replaced:
a file that is not what it should be gets another name. Every method blocks.
"""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec
from msgspec import Struct

from rigd.errors import CopyGone, FileChanged, InputError, StoreError
from rigd.store import whole
from rigd.store.disk import Disk
from rigd.store.faults import translated
from rigd.store.hashing import copy_file, digest_of
from rigd.store.naming import free_name
from rigd.store.parts import is_part, part_name
from rigd.store.placing import place_new

MARK = "rigd-second-copy.json"
# What file systems answer that cannot sync a folder (SMB, FUSE): there is nothing more to be done then.
_NO_SYNC = (errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EACCES, errno.EPERM)


class ShareDisk(Disk):
    """A disk of whatever file system: some cannot sync a folder, and there is nothing more to be done then."""

    def sync_folder(self, folder: Path) -> None:
        try:
            super().sync_folder(folder)
        except OSError as error:
            if error.errno not in _NO_SYNC:
                raise


class _Mark(Struct, frozen=True):
    """What lies in the folder, so that an empty mount point is never taken for the disk itself."""

    job_id: str
    title: str = ""


def begin(root: Path, to: Path, job_id: str, title: str, same_disk: bool = False, disk: Disk | None = None) -> None:
    """Make `to` the folder of the second copy of the job in `root`.

    Raises:
        InputError: it lies inside the job, holds another job, or (unless `same_disk`) is on the job's own disk.
        DiskFull, DiskFaulty: it cannot be written.
    """
    disk = disk or ShareDisk()
    inside = to.resolve().is_relative_to(root.resolve()) or root.resolve().is_relative_to(to.resolve())
    if inside or not to.is_absolute():
        raise InputError(f"{to} cannot hold the second copy.", "It must lie apart from the job's folder.",
                         "Name a folder on another disk, in full.")  # fmt: skip
    with translated(f"Making the folder {to}"):
        to.mkdir(parents=True, exist_ok=True)
        own = disk.stat(to).st_dev == disk.stat(root).st_dev
    if own and not same_disk:
        raise InputError(f"{to} is on the same disk as the job.", "If that disk fails, both are gone.",
                         "Name a folder on another disk; or say --same-disk for a try.")  # fmt: skip
    with translated(f"Writing into {to}"):
        before = whole.read(disk, to / MARK)
        if before is not None and _read_mark(before).job_id != job_id:
            raise InputError(f"{to} holds the copy of another job.", f"It is {_read_mark(before).title!r}.",
                             "Name another folder.")  # fmt: skip
        whole.write(disk, to / MARK, msgspec.json.encode(_Mark(job_id, title)) + b"\n")
        disk.sync_folder(to)


class SecondCopy:
    """Copies of one job in its folder `to`. `wait` is called between pieces of a file: it returns when the copier may
    go on, and raises where it must end."""

    def __init__(self, root: Path, to: Path, job_id: str, disk: Disk | None = None) -> None:
        self._root = root
        self._to = to
        self._job_id = job_id
        self._disk = disk or ShareDisk()

    def require_there(self) -> None:
        """Raises CopyGone where the disk is not there, or the folder is not that of this job's copy."""
        try:
            mark = whole.read(self._disk, self._to / MARK)
        except OSError:
            mark = None
        if mark is None:
            raise CopyGone(f"The second copy's disk is not there: {self._to}.", "It was taken out, or is not mounted.",
                           "Plug it in again; the copies go on by themselves.")  # fmt: skip
        if _read_mark(mark).job_id != self._job_id:
            raise CopyGone(f"{self._to} holds the copy of another job.", "", "Name another folder: rigd copy to.")

    def copy(self, path: str, sha256: str, size: int, wait: Callable[[], None] = lambda: None) -> None:
        """Copy one file and read it back; a good copy that is there already is only read back.

        Raises:
            FileChanged: the job's own file is not what was stored, or the copy is not like it.
            CopyGone: the disk is not there. DiskFull, DiskFaulty.
        """
        self.require_there()
        source, final = self._root / path, self._to / path
        with self._told(f"Copying {path}"):
            self._ready(final.parent)
            part = final.with_name(part_name(f"copy-{final.name}"))
            with contextlib.suppress(FileNotFoundError):
                self._disk.unlink(part)
            if self._is_good(final, sha256, size):
                return
            self._require_source(copy_file(self._disk, source, part, wait), path, sha256, size, part)
            wait()
            if digest_of(self._disk, part, from_medium=True) != (sha256, size):
                self._disk.unlink(part)
                raise FileChanged(f"The copy of {path} is not like it.", "It was read back from the other disk.",
                                  "Check that disk and its cable.")  # fmt: skip
            self._make_way(final)
            place_new(self._disk, part, final)
            self._disk.sync_folder(final.parent)

    def paper(self, path: str) -> bool:
        """Copy a small file that may have changed; True if it had. Raises as `copy` does."""
        self.require_there()
        with self._told(f"Copying {path}"):
            body = whole.read(self._disk, self._root / path)
            final = self._to / path
            if body is None or whole.read(self._disk, final) == body:
                return False
            self._ready(final.parent)
            whole.write(self._disk, final, body)
            self._disk.sync_folder(final.parent)
        return True

    def verify(self, path: str, sha256: str, size: int) -> None:
        """Read a copy back from its disk. Raises FileChanged, CopyGone, DiskFaulty."""
        self.require_there()
        with self._told(f"Reading the copy of {path} back"):
            if not self._is_good(self._to / path, sha256, size):
                raise FileChanged(f"The copy of {path} is missing or not like it.", "", "Copy it again: rigd copy now.")

    @contextlib.contextmanager
    def _told(self, doing: str) -> Iterator[None]:
        """Where the disk has gone meanwhile, that is the word, not the failed call."""
        try:
            with translated(doing):
                yield
        except StoreError as error:
            if not isinstance(error, FileChanged | CopyGone):
                self.require_there()
            raise

    def _ready(self, folder: Path) -> None:
        if folder == self._to or folder.is_dir():
            return
        self._ready(folder.parent)
        with contextlib.suppress(FileExistsError):
            self._disk.mkdir(folder)
        self._disk.sync_folder(folder.parent)

    def _is_good(self, final: Path, sha256: str, size: int) -> bool:
        try:
            if self._disk.stat(final).st_size != size:
                return False
            return digest_of(self._disk, final, from_medium=True) == (sha256, size)
        except (FileNotFoundError, NotADirectoryError):
            return False

    def _require_source(self, found: tuple[str, int], path: str, sha256: str, size: int, part: Path) -> None:
        if found != (sha256, size):
            self._disk.unlink(part)
            raise FileChanged(f"{path} is not what was stored.", "It was not copied.", "See: rigd verify.")

    def _make_way(self, final: Path) -> None:
        """A file of that name that is not what it should be is kept under another one."""
        with contextlib.suppress(FileNotFoundError):
            self._disk.stat(final)
            names = [there.name for there in final.parent.iterdir() if not is_part(there.name)]
            self._disk.rename(final, final.with_name(free_name(f"{final.stem}.not-as-stored{final.suffix}", names)))


def _read_mark(body: bytes) -> _Mark:
    try:
        return msgspec.json.decode(body, type=_Mark)
    except msgspec.DecodeError:
        return _Mark("", "something that cannot be read")
