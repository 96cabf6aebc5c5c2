"""Small files that are written whole: whichever call fails, the old one or the new one is there."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from tests.unit.store.stores import FailingDisk, files

from rigd.errors import InputError, StoreError
from rigd.store import Store, manifest
from rigd.store.whole import read
from rigd.store.xmp import Text, packet

OLD = {"Pier_7/a.xmp": packet([("rigd:roll", Text("Pier 7"))]), "Pier_7/frames.csv": b"number\r\n"}
NEW = {"Pier_7/a.xmp": packet([("rigd:roll", Text("Pier 8"))]), "Pier_7/frames.csv": b"number,strip\r\n"}


def test_only_what_changed_is_written(tmp_path: Path) -> None:
    store = Store(tmp_path)
    assert store.write_papers(OLD) == tuple(OLD)
    assert store.write_papers(OLD) == ()
    assert store.write_papers({**OLD, "Pier_7/frames.csv": b"x"}) == ("Pier_7/frames.csv",)
    with pytest.raises(InputError):
        store.write_papers({"../a.xmp": b"x"})


def test_whichever_call_fails_each_is_the_old_one_or_the_new_one(tmp_path: Path) -> None:
    counting = FailingDisk()
    Store(tmp_path).write_papers(OLD)
    Store(tmp_path, counting).write_papers(NEW)
    for at in range(len(counting.calls)):
        Store(tmp_path).write_papers(OLD)
        with pytest.raises(StoreError):
            Store(tmp_path, FailingDisk(at, errno.ENOSPC)).write_papers(NEW)
        for path, body in files(tmp_path).items():
            assert body in (OLD[path], NEW[path]), f"call {at}: {path}"
        Store(tmp_path).write_papers(NEW)
        assert files(tmp_path) == NEW


def test_a_list_is_read_as_it_was_written() -> None:
    names = ("plain.dng", "a\\b", "line\nbreak", "two  spaces", "\\n")
    entries = {name: str(n) * 64 for n, name in enumerate(names)}
    assert manifest.read(manifest.lines((digest, name) for name, digest in entries.items())) == entries


def test_what_is_not_there_is_told_from_what_cannot_be_read(tmp_path: Path) -> None:
    assert read(FailingDisk(), tmp_path / "a") is None
    (tmp_path / "a").write_bytes(b"x" * 100_000)
    assert read(FailingDisk(), tmp_path / "a") == b"x" * 100_000
    with pytest.raises(OSError, match="Input/output"):
        read(FailingDisk(0, errno.EIO), tmp_path / "a")
