"""Which file systems are refused, and that the one a folder lies on is told rightly."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tests.unit.ledger.ledgers import opened
from tests.unit.store.small_disk import small_disk

from rigd.errors import UnfitDisk
from rigd.ledger import fitness
from rigd.model.events import Paused

# The example line of proc_pid_mountinfo(5), and lines of the same form.
MOUNTINFO = """\
36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue
22 1 259:2 / / rw,relatime shared:1 - ext4 /dev/nvme0n1p2 rw
90 22 8:17 / /media/ola/CARD rw,nosuid - exfat /dev/sdb1 rw
91 22 8:33 / /media/ola/Old\\040disk rw,nosuid shared:7 master:2 - fuseblk /dev/sdc1 rw
92 22 0:51 / /srv rw - nfs4 store:/srv rw,vers=4.2
93 92 8:49 / /srv/local rw - xfs /dev/sdd1 rw
94 22 0:60 / /over rw - cifs //store/a rw
95 22 8:65 / /over rw - btrfs /dev/sde1 rw
"""
# Form of macOS' mount(8): device on point (kind, options).
MOUNT = """\
/dev/disk3s1s1 on / (apfs, sealed, local, read-only, journaled)
/dev/disk3s5 on /System/Volumes/Data (apfs, local, journaled, nobrowse)
/dev/disk4s1 on /Volumes/CARD (exfat, local, nodev, nosuid, noowners)
/dev/disk5s2 on /Volumes/Old (b) (hfs, local, nodev, nosuid, journaled)
/dev/disk5s3 on /Volumes/Older (hfs, local, nodev, nosuid)
//ola@store/scans on /Volumes/scans (smbfs, nodev, nosuid, mounted by ola)
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/ola/job", "ext4"),
        ("/mnt2", "ext3"),
        ("/mnt22", "ext4"),
        ("/media/ola/CARD/job", "exfat"),
        ("/media/ola/Old disk/job", "fuseblk"),
        ("/srv/job", "nfs4"),
        ("/srv/local/job", "xfs"),
        ("/over/job", "btrfs"),
    ],
)
def test_the_mount_that_covers_a_folder(folder: str, kind: str) -> None:
    assert fitness.covering(fitness.parse_mountinfo(MOUNTINFO), folder) == kind


@pytest.mark.parametrize(
    ("folder", "fit"),
    [
        ("/System/Volumes/Data/Users/ola", True),
        ("/Volumes/CARD/job", False),
        ("/Volumes/Old (b)/job", True),
        ("/Volumes/Older/job", False),
        ("/Volumes/scans/job", False),
    ],
)
def test_the_same_from_the_list_that_macos_prints(folder: str, fit: bool) -> None:
    kind = fitness.covering(fitness.parse_mount(MOUNT), folder)
    assert (fitness.why_unfit(kind) is None) == fit


@pytest.mark.parametrize(
    "kind", ["ext4", "xfs", "btrfs", "zfs", "f2fs", "apfs", "overlay", "tmpfs", "fuse.fuse-overlayfs"]
)
def test_local_journalling_file_systems_are_fit(kind: str) -> None:
    assert fitness.why_unfit(kind) is None


@pytest.mark.parametrize(
    ("kind", "reason"),
    [
        *((kind, fitness.NO_JOURNAL) for kind in ("exfat", "vfat", "msdos", "ntfs", "ntfs3", "fuseblk", "ext2")),
        *((kind, fitness.FAR_AWAY) for kind in ("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "virtiofs", "afpfs")),
        *((kind, fitness.IN_BETWEEN) for kind in ("fuse.sshfs", "fuse.rclone", "fuse", "macfuse")),
    ],
)
def test_the_others_are_refused_with_the_reason(kind: str, reason: str) -> None:
    assert fitness.why_unfit(kind) == reason


@pytest.mark.skipif(sys.platform != "linux" or not shutil.which("findmnt"), reason="findmnt(8) is the other opinion")
def test_the_real_answer_agrees_with_another_program(tmp_path: Path) -> None:
    for folder in (tmp_path, Path("/proc"), Path("/dev/shm")):
        said = subprocess.run(["findmnt", "-no", "FSTYPE", "-T", folder], capture_output=True, text=True, check=True)
        assert fitness.file_system_of(folder) == said.stdout.split()[-1]


async def test_a_ledger_is_opened_on_a_fit_volume_and_a_folder_is_made(tmp_path: Path) -> None:
    with small_disk("4m") as disk:
        assert fitness.file_system_of(disk) == "tmpfs"
        async with opened(disk / "jobs" / "pier 7") as ledger:
            assert (await ledger.append(Paused("a")))[0].seq == 1


def test_a_folder_that_is_not_there_yet_is_judged_by_the_one_above(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No exFAT volume can be had in a test; its name stands in the place where the system would tell it."""
    monkeypatch.setattr(fitness, "file_system_of", lambda folder: "exfat" if folder == tmp_path else "missing folder")
    with pytest.raises(UnfitDisk, match="exfat") as told:
        fitness.require_fit(tmp_path / "jobs" / "pier 7")
    assert told.value.why == fitness.NO_JOURNAL
    assert not (tmp_path / "jobs").exists()
