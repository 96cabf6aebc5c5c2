"""The second copy: read back from its disk, gone on with, never in place of something else; a pulled disk is told."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest
from tests.unit.store.small_disk import fill, small_disk
from tests.unit.store.stores import RAW, SHA, FailingDisk, files, spooled

from rigd.errors import CopyGone, DiskFull, FileChanged, InputError, StoreError
from rigd.store import Store
from rigd.store.disk import Disk
from rigd.store.second import MARK, SecondCopy, ShareDisk, begin

PATH = "Pier_7/a.dng"


def job(tmp_path: Path, disk: Disk | None = None) -> tuple[Path, Path, SecondCopy]:
    """A job's folder with one stored file, and its second copy on the same disk."""
    root, to = tmp_path / "job", tmp_path / "other" / "copy"
    store = Store(root)
    store.secure(spooled(store), "Pier_7", "a.dng", None)
    begin(root, to, "j-1", "Pier 7", same_disk=True)
    return root, to, SecondCopy(root, to, "j-1", disk)


def test_a_copy_is_what_was_stored(tmp_path: Path) -> None:
    root, to, second = job(tmp_path)
    second.copy(PATH, SHA, len(RAW))
    assert files(to)[PATH] == RAW
    assert files(root)[PATH] == RAW
    second.verify(PATH, SHA, len(RAW))
    assert set(files(to)) == {PATH, MARK}


@pytest.mark.parametrize("name", ["link", "sync_folder"])
def test_file_systems_without_links_or_folder_syncs_do(tmp_path: Path, name: str) -> None:
    """exFAT has no links (link(2): EPERM), SMB cannot sync a folder (EINVAL)."""
    calls = FailingDisk()
    _, to, second = job(tmp_path, calls)
    if name == "link":
        calls.fail_on("link", errno.EPERM)
    else:
        second = SecondCopy(tmp_path / "job", to, "j-1", _NoFolderSync())
    second.copy(PATH, SHA, len(RAW))
    assert files(to)[PATH] == RAW


class _NoFolderSync(ShareDisk):
    def fsync(self, descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EINVAL, "no")
        super().fsync(descriptor)


def test_whichever_call_fails_nothing_false_is_there_and_it_can_be_gone_on_with(tmp_path: Path) -> None:
    root, to, second = job(tmp_path)
    counting = FailingDisk()
    SecondCopy(root, to, "j-1", counting).copy(PATH, SHA, len(RAW))
    failed = 0
    for at in range(len(counting.calls)):
        (to / PATH).unlink(missing_ok=True)
        try:
            SecondCopy(root, to, "j-1", FailingDisk(at, errno.EIO)).copy(PATH, SHA, len(RAW))
        except StoreError:
            failed += 1
        assert files(to).get(PATH, RAW) == RAW
        second.copy(PATH, SHA, len(RAW))
        assert set(files(to)) == {PATH, MARK}
    assert failed > 15, "the folder was there already: a few calls fewer than were counted"


def test_a_disk_that_was_pulled_out_is_told_as_such(tmp_path: Path) -> None:
    _, to, second = job(tmp_path)
    (to / MARK).unlink()
    with pytest.raises(CopyGone, match="not there"):
        second.copy(PATH, SHA, len(RAW))
    assert not files(to), "an empty mount point is no second disk"


def test_a_full_disk_is_told_as_such(tmp_path: Path) -> None:
    with small_disk("2M") as other:
        root, _, _ = job(tmp_path)
        begin(root, other / "copy", "j-1", "Pier 7")
        fill(other, leave=100_000)
        with pytest.raises(DiskFull):
            SecondCopy(root, other / "copy", "j-1").copy(PATH, SHA, len(RAW))
        (other / "filling").unlink()
        SecondCopy(root, other / "copy", "j-1").copy(PATH, SHA, len(RAW))
        assert files(other / "copy")[PATH] == RAW


def test_a_copy_that_went_bad_is_kept_apart_and_made_again(tmp_path: Path) -> None:
    _, to, second = job(tmp_path)
    second.copy(PATH, SHA, len(RAW))
    bad = RAW[:-1] + b"x"
    (to / PATH).write_bytes(bad)
    with pytest.raises(FileChanged):
        second.verify(PATH, SHA, len(RAW))
    second.copy(PATH, SHA, len(RAW))
    assert files(to) == {PATH: RAW, "Pier_7/a.not-as-stored.dng": bad, MARK: files(to)[MARK]}


def test_a_file_that_is_not_what_was_stored_is_not_copied(tmp_path: Path) -> None:
    root, to, second = job(tmp_path)
    (root / PATH).write_bytes(b"other")
    with pytest.raises(FileChanged):
        second.copy(PATH, SHA, len(RAW))
    assert set(files(to)) == {MARK}


def test_it_ends_between_two_pieces_when_told_to(tmp_path: Path) -> None:
    _, to, second = job(tmp_path)

    def end() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        second.copy(PATH, SHA, len(RAW), end)
    assert set(files(to)) == {MARK}


def test_where_no_second_copy_can_be(tmp_path: Path) -> None:
    root, to, _ = job(tmp_path)
    for folder, why in ((root / "copy", "apart"), (tmp_path, "apart"), (Path("copy"), "apart")):
        with pytest.raises(InputError, match=why):
            begin(root, folder, "j-1", "Pier 7", same_disk=True)
    with pytest.raises(InputError, match="same disk"):
        begin(root, to, "j-1", "Pier 7")
    with pytest.raises(InputError, match="another job"):
        begin(root, to, "j-2", "Pier 8", same_disk=True)
