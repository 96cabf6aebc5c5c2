"""Which file system a folder lies on, and whether it can keep the ledger's promises."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from rigd.errors import UnfitDisk

NO_JOURNAL = "It has no journal: a power cut can take files that were written long before."
FAR_AWAY = "It is reached over a network: its locks and its 'written' cannot be relied on."
IN_BETWEEN = "It is served by another program: nobody can tell whether 'written' means written."

# Names as the kernels report them: Linux file system types (Documentation/filesystems) and macOS' statfs.
# Not listed means fit: ext4, xfs, btrfs, zfs, f2fs, apfs, overlay, tmpfs and kinds that are not known yet.
_UNFIT: dict[str, str] = {
    **dict.fromkeys(
        ("exfat", "vfat", "msdos", "fat", "ntfs", "ntfs3", "fuseblk", "ext2", "udf", "minix", "hfs", "hfsplus"),
        NO_JOURNAL,
    ),
    **dict.fromkeys(
        (
            "nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "afpfs", "webdav", "ftp", "ncpfs", "ceph", "lustre",
            "glusterfs", "9p", "virtiofs", "vboxsf", "vmhgfs", "coda", "orangefs", "gfs2", "ocfs2", "beegfs",
        ),
        FAR_AWAY,
    ),
    **dict.fromkeys(("fuse", "macfuse", "osxfuse", "fusefs"), IN_BETWEEN),
}  # fmt: skip
# Root file system of containers without root; it sits on a local disk and passes fsync on.
_FIT_FUSE = "fuse.fuse-overlayfs"


def require_fit(root: Path) -> None:
    """Refuse a folder on a file system that a ledger must not lie on. It need not exist yet.

    Raises:
        UnfitDisk: with the kind of file system and the reason.
    """
    there = next((folder for folder in (root.resolve(), *root.resolve().parents) if folder.exists()), Path("/"))
    kind = file_system_of(there)
    reason = why_unfit(kind)
    if reason:
        raise UnfitDisk(
            f"{root} lies on a file system of the kind {kind}.",
            reason,
            "Put the job's folder on a local disk (ext4, xfs, btrfs, APFS); make copies to this one afterwards.",
        )


def why_unfit(kind: str) -> str | None:
    """The reason why that kind of file system is refused, or None if it is fit."""
    if kind.startswith("fuse.") and kind != _FIT_FUSE:
        return IN_BETWEEN
    return _UNFIT.get(kind.lower())


def file_system_of(folder: Path) -> str:
    """The kind of file system that `folder` (which exists) lies on, as the system names it; "" if unknown."""
    where = str(folder.resolve())
    if sys.platform == "darwin":
        listing = subprocess.run(["/sbin/mount"], capture_output=True, text=True, check=False).stdout
        return covering(parse_mount(listing), where)
    try:
        text = Path("/proc/self/mountinfo").read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return ""
    return covering(parse_mountinfo(text), where)


def parse_mountinfo(text: str) -> list[tuple[str, str]]:
    """(mount point, kind) of each line of Linux' /proc/<pid>/mountinfo, in its order (proc_pid_mountinfo(5))."""
    found = []
    for line in text.splitlines():
        fields = line.split(" ")
        if "-" in fields[6:] and len(fields) > fields.index("-", 6) + 1:
            found.append((_unescaped(fields[4]), fields[fields.index("-", 6) + 1]))
    return found


def parse_mount(text: str) -> list[tuple[str, str]]:
    """(mount point, kind) of each line that macOS' mount(8) prints: `device on /point (kind, options)`."""
    found = []
    for line in text.splitlines():
        head, _, options = line.rpartition(" (")
        point = head.partition(" on ")[2]
        names = [name.strip() for name in options.rstrip(")").split(",")]
        kept = names[0] == "hfs" and "journaled" in names  # with or without a journal, its name is the same
        if point:
            found.append((point, "hfs journaled" if kept else names[0]))
    return found


def covering(mounts: list[tuple[str, str]], where: str) -> str:
    """The kind of the mount that covers `where`: the longest mount point, the last one where several are stacked."""
    best, kind = "", ""
    for point, this in mounts:
        covers = where == point or where.startswith(point.rstrip("/") + "/")
        if covers and len(point) >= len(best):
            best, kind = point, this
    return kind


def _unescaped(field: str) -> str:
    r"""Space, tab, newline and backslash are written as \040, \011, \012 and \134."""
    for code, sign in (("\\040", " "), ("\\011", "\t"), ("\\012", "\n"), ("\\134", "\\")):
        field = field.replace(code, sign)
    return field
