"""Files that belong to no take are kept apart; no byte of theirs is ever lost."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from tests.unit.store.stores import RAW, FailingDisk, files, spooled

from rigd.errors import StoreError
from rigd.store import Store


def test_temporary_files_without_a_take_are_moved_and_the_others_stay(tmp_path: Path) -> None:
    store = Store(tmp_path)
    kept = store.secure(spooled(store, take_id="t-1"), "Pier_7", "a.dng", None)
    spooled(store, take_id="t-2")
    spooled(store, "Pier_8", "t-3", RAW[:5])
    spooled(store, "Pier_8", "t-4", b"")
    (tmp_path / "Pier_8" / ".other").write_bytes(b"not ours")
    moved = Store(tmp_path).quarantine({"t-2"})
    assert [p.name for p in moved] == ["Pier_8-t-3.part", "Pier_8-t-4.part"]
    left = files(tmp_path)
    assert left.pop("unclaimed/why.txt").decode().splitlines() == [
        f"{p.name}: found at the start; no take accounts for it" for p in moved
    ]
    assert left == {
        kept.path: RAW, "Pier_7/.t-2.part": RAW, "Pier_8/.other": b"not ours",
        "unclaimed/Pier_8-t-3.part": RAW[:5], "unclaimed/Pier_8-t-4.part": b"",
    }  # fmt: skip
    assert Store(tmp_path).quarantine({"t-2"}) == ()


def test_the_second_name_of_a_stored_file_is_no_file_of_its_own(tmp_path: Path) -> None:
    store = Store(tmp_path)
    part = spooled(store)
    (tmp_path / "Pier_7" / "a.dng").hardlink_to(part)
    assert store.quarantine(set()) == ()
    assert files(tmp_path) == {"Pier_7/a.dng": RAW}


def test_a_name_that_is_taken_gets_a_number(tmp_path: Path) -> None:
    store = Store(tmp_path)
    kept = [store.set_aside(spooled(store, take_id="s"), name, "nobody asked for it")
            for name in ("IMG_0001.DNG", "img_0001.dng", "IMG_0001.DNG", "../why.txt", "")]  # fmt: skip
    assert kept == [f"unclaimed/{name}" for name in
                    ("IMG_0001.DNG", "img_0001-2.dng", "IMG_0001-3.DNG", "why-2.txt", "file")]  # fmt: skip
    left = files(tmp_path)
    assert {name: left[name] for name in kept} == dict.fromkeys(kept, RAW)
    assert left["unclaimed/why.txt"].startswith(b"IMG_0001.DNG: nobody asked for it\n")


@pytest.mark.parametrize("setting_aside", [True, False])
def test_whichever_call_fails_every_byte_is_still_there(tmp_path: Path, setting_aside: bool) -> None:
    def work(store: Store, part: Path) -> None:
        if setting_aside:
            store.set_aside(part, "IMG_0001.DNG", "why")
        else:
            store.quarantine(set())

    counting = FailingDisk()
    work(Store(tmp_path / "all", counting), spooled(Store(tmp_path / "all")))
    for at in range(len(counting.calls)):
        root = tmp_path / f"{at}"
        part = spooled(Store(root))
        with pytest.raises(StoreError):
            work(Store(root, FailingDisk(at, errno.EIO)), part)
        assert RAW in files(root).values(), counting.calls[: at + 1]
        Store(root).quarantine(set())
        assert [content for name, content in files(root).items() if not name.endswith("why.txt")] == [RAW]
