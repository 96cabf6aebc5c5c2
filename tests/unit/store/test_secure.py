"""From the camera's last byte to a safe file; nothing is ever replaced, and no byte is ever in no file."""

from __future__ import annotations

import errno
import hashlib
from pathlib import Path

import pytest
from tests.unit.store.small_disk import fill, small_disk
from tests.unit.store.stores import RAW, SHA, FailingDisk, files, spooled

from rigd.errors import DiskFaulty, DiskFull, FileChanged, InputError, StoreError
from rigd.store import Store, StoredFile


def test_a_file_gets_its_name_its_checksum_and_its_size(tmp_path: Path) -> None:
    store = Store(tmp_path)
    part = spooled(store)
    assert part.parent == tmp_path / "Pier_7"
    kept = store.secure(part, "Pier_7", "Pier_7-001-01-01.dng", len(RAW))
    assert kept == StoredFile("Pier_7/Pier_7-001-01-01.dng", SHA, len(RAW))
    assert files(tmp_path) == {kept.path: RAW}


@pytest.mark.parametrize("content", [b"", b"x", bytes(1 << 18), bytes((1 << 18) + 1)])
def test_any_size_is_hashed_whole(tmp_path: Path, content: bytes) -> None:
    kept = Store(tmp_path).secure(spooled(Store(tmp_path), content=content), "Pier_7", "a.dng", None)
    assert (kept.sha256, kept.bytes) == (hashlib.sha256(content).hexdigest(), len(content))


@pytest.mark.parametrize("told", [len(RAW) - 1, len(RAW) + 1, 0])
def test_a_file_that_did_not_arrive_whole_gets_no_name(tmp_path: Path, told: int) -> None:
    store = Store(tmp_path)
    part = spooled(store)
    with pytest.raises(FileChanged, match="bytes"):
        store.secure(part, "Pier_7", "a.dng", told)
    assert files(tmp_path) == {"Pier_7/.t-1.part": RAW}


def test_another_file_of_that_name_is_never_replaced(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.secure(spooled(store), "Pier_7", "a.dng", None)
    part = spooled(store, content=RAW[::-1])
    with pytest.raises(StoreError, match="already"):
        store.secure(part, "Pier_7", "a.dng", None)
    assert files(tmp_path) == {"Pier_7/a.dng": RAW, "Pier_7/.t-1.part": RAW[::-1]}


def test_the_same_bytes_under_that_name_are_what_a_crash_left(tmp_path: Path) -> None:
    """Named, but the ledger's row never came: the take is fetched again, and finds its own file there."""
    store = Store(tmp_path)
    before = store.secure(spooled(store), "Pier_7", "a.dng", None)
    assert Store(tmp_path).secure(spooled(store), "Pier_7", "a.dng", len(RAW)) == before
    assert files(tmp_path) == {"Pier_7/a.dng": RAW}


def test_a_crash_between_the_two_names_of_one_file_is_gone_on_from(tmp_path: Path) -> None:
    store = Store(tmp_path)
    part = spooled(store)
    (tmp_path / "Pier_7" / "a.dng").hardlink_to(part)
    assert store.secure(part, "Pier_7", "a.dng", None).sha256 == SHA
    assert files(tmp_path) == {"Pier_7/a.dng": RAW}


def test_the_calls_come_in_the_order_that_a_power_cut_needs(tmp_path: Path) -> None:
    """Bytes on the medium, then the name, then the name on the medium; only then the old name goes."""
    disk = FailingDisk()
    store = Store(tmp_path, disk)
    part = spooled(store)
    assert disk.calls == ["mkdir", "open", "fsync", "close"]
    disk.calls.clear()
    store.secure(part, "Pier_7", "a.dng", None)
    steps = [call for call in disk.calls if call not in ("read_into", "stat")]
    assert steps == ["open", "fsync", "close", "link", "open", "fsync", "close", "unlink"]


@pytest.mark.parametrize("code", [errno.EPERM, errno.EOPNOTSUPP])
def test_without_links_the_name_is_reserved_first(tmp_path: Path, code: int) -> None:
    store = Store(tmp_path)
    part = spooled(store)
    disk = FailingDisk()
    Store(tmp_path, disk).secure(part, "Pier_7", "a.dng", None)
    at = disk.calls.index("link")
    (tmp_path / "Pier_7" / "a.dng").unlink()
    for left_behind in (None, b""):
        part = spooled(store)
        if left_behind is not None:  # a crash came between reservation and name
            (tmp_path / "Pier_7" / "a.dng").write_bytes(left_behind)
        kept = Store(tmp_path, FailingDisk(at, code)).secure(part, "Pier_7", "a.dng", None)
        assert files(tmp_path) == {kept.path: RAW}
        (tmp_path / kept.path).unlink()
    (tmp_path / "Pier_7" / "a.dng").write_bytes(b"another")
    with pytest.raises(StoreError, match="already"):
        Store(tmp_path, FailingDisk(at, code)).secure(spooled(store), "Pier_7", "a.dng", None)
    assert files(tmp_path)["Pier_7/a.dng"] == b"another"


def calls_of_securing(root: Path) -> int:
    disk = FailingDisk()
    store = Store(root, disk)
    store.secure(spooled(store), "Pier_7", "a.dng", len(RAW))
    return len(disk.calls)


@pytest.mark.parametrize(
    ("code", "error"), [(errno.ENOSPC, DiskFull), (errno.EDQUOT, DiskFull), (errno.EIO, DiskFaulty)]
)
def test_whichever_call_fails_the_bytes_are_kept_and_the_next_try_succeeds(
    tmp_path: Path, code: int, error: type[Exception]
) -> None:
    """Every call in turn. A failed one is never made a second time: the next try has new descriptors and new calls."""
    for at in range(calls_of_securing(tmp_path / "all")):
        root = tmp_path / f"{at}"
        disk = FailingDisk(at, code)
        store = Store(root, disk)
        with pytest.raises(error):
            store.secure(spooled(store), "Pier_7", "a.dng", len(RAW))
        left = files(root)
        assert set(left.values()) <= {RAW}, disk.calls
        again = Store(root)
        again.erase_part(again.part_path("Pier_7", "t-1"))
        kept = again.secure(spooled(again), "Pier_7", "a.dng", len(RAW))
        again.verify(kept.path, kept.sha256, kept.bytes)
        assert files(root) == {"Pier_7/a.dng": RAW}, disk.calls


@pytest.mark.parametrize(("code", "error"), [(errno.ENOSPC, DiskFull), (errno.EIO, DiskFaulty)])
def test_a_failing_flush_is_not_tried_again(tmp_path: Path, code: int, error: type[Exception]) -> None:
    disk = FailingDisk()
    store = Store(tmp_path, disk)
    part = spooled(store)
    disk.calls.clear()
    disk.fail_on("fsync", code)
    with pytest.raises(error):
        store.secure(part, "Pier_7", "a.dng", None)
    assert disk.calls.count("fsync") == 1
    assert "link" not in disk.calls
    assert files(tmp_path) == {"Pier_7/.t-1.part": RAW}


def test_on_a_really_full_disk_a_file_that_is_there_can_still_be_named(tmp_path: Path) -> None:
    with small_disk("2m") as root:
        store = Store(root)
        part = spooled(store)
        filling = fill(root)
        with pytest.raises(OSError, match="No space"):
            spooled(store, take_id="t-2")
        with pytest.raises(DiskFull):
            store.write_manifest("Pier_7", [(SHA, "Pier_7/a.dng")])
        assert store.secure(part, "Pier_7", "a.dng", len(RAW)).sha256 == SHA
        store.erase_part(store.part_path("Pier_7", "t-2"))
        filling.unlink()
        store.secure(spooled(store, take_id="t-2"), "Pier_7", "b.dng", len(RAW))
        assert files(root) == {"Pier_7/a.dng": RAW, "Pier_7/b.dng": RAW}


@pytest.mark.parametrize("folder", ["../out", "/out", "a/../../b", ""])
def test_no_folder_outside_the_job_is_written_to(tmp_path: Path, folder: str) -> None:
    with pytest.raises(InputError):
        Store(tmp_path).part_path(folder, "t-1")


@pytest.mark.parametrize("name", ["../a.dng", "a/b.dng", ".hidden", ""])
def test_no_name_that_is_more_than_a_name(tmp_path: Path, name: str) -> None:
    store = Store(tmp_path)
    with pytest.raises(InputError):
        store.secure(spooled(store), "Pier_7", name, None)


def test_only_temporary_files_of_ours_are_ever_deleted(tmp_path: Path) -> None:
    store = Store(tmp_path)
    kept = store.secure(spooled(store), "Pier_7", "a.dng", None)
    outside = tmp_path.parent / ".t-1.part"
    for path in (tmp_path / kept.path, outside, tmp_path / "Pier_7" / ".part"):
        with pytest.raises(InputError):
            store.erase_part(path)
    part = spooled(store)
    store.erase_part(part)
    store.erase_part(part)  # gone already: nothing to say
    assert files(tmp_path) == {kept.path: RAW}


def test_a_link_in_the_part_s_place_is_not_followed(tmp_path: Path) -> None:
    store = Store(tmp_path)
    part = store.part_path("Pier_7", "t-1")
    (tmp_path / "secret").write_bytes(b"somebody else's")
    part.symlink_to(tmp_path / "secret")
    with pytest.raises(DiskFaulty):
        store.secure(part, "Pier_7", "a.dng", None)
    assert not (tmp_path / "Pier_7" / "a.dng").exists()
