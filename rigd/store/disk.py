"""Every file-system call that the store makes: the seam at which tests let a disk fail."""

from __future__ import annotations

import fcntl
import os
import sys
from pathlib import Path


class Disk:
    """The real disk. Each method is one system call and raises OSError as it comes."""

    def open(self, path: Path, flags: int) -> int:
        """A descriptor; new files are 0644 less the umask. Never through a symbolic link at the last name."""
        return os.open(path, flags | os.O_CLOEXEC | os.O_NOFOLLOW, 0o644)

    def read_into(self, descriptor: int, buffer: memoryview) -> int:
        """Bytes read into `buffer`; 0 at the end of the file."""
        return os.readv(descriptor, [buffer])

    def write(self, descriptor: int, data: bytes | memoryview) -> int:
        """Bytes written: may be fewer than were given."""
        return os.write(descriptor, data)

    def fsync(self, descriptor: int) -> None:
        """Everything written is on the medium, through the drive's cache too."""
        if sys.platform == "darwin":  # plain fsync stops at the drive there (fsync(2))
            fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
        else:
            os.fsync(descriptor)

    def close(self, descriptor: int) -> None:
        os.close(descriptor)

    def stat(self, path: Path) -> os.stat_result:
        """Of the name itself, not of what a symbolic link points to."""
        return os.lstat(path)

    def link(self, path: Path, other: Path) -> None:
        """A second name; FileExistsError if it is taken."""
        os.link(path, other, follow_symlinks=False)

    def unlink(self, path: Path) -> None:
        path.unlink()

    def rename(self, path: Path, other: Path) -> None:
        """Replaces `other`."""
        path.rename(other)

    def mkdir(self, path: Path) -> None:
        path.mkdir()

    def sync_folder(self, folder: Path) -> None:
        """The names in `folder` are on the medium."""
        descriptor = self.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            self.fsync(descriptor)
        finally:
            self.close(descriptor)

    def forget(self, descriptor: int) -> None:
        """Drop what memory holds of a file that is on the medium, so that the next read comes from there."""
        if sys.platform == "darwin":
            fcntl.fcntl(descriptor, fcntl.F_NOCACHE, 1)
        else:
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)

    def reserve(self, descriptor: int, size: int) -> bool:
        """Give the file `size` bytes of the medium without writing them; False where that cannot be done."""
        if sys.platform == "darwin":
            return False
        os.posix_fallocate(descriptor, 0, size)
        return True

    def volume(self, path: Path) -> os.statvfs_result:
        return os.statvfs(path)
