"""The checksum list is read by sha256sum itself."""

from __future__ import annotations

import errno
import subprocess
from pathlib import Path

import pytest
from tests.unit.store.stores import RAW, SHA, FailingDisk, files, spooled

from rigd import paths
from rigd.errors import StoreError
from rigd.store import Store, manifest


def checked(folder: Path) -> subprocess.CompletedProcess[str]:
    command = ["sha256sum", "--check", "--strict", paths.MANIFEST]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_sha256sum_agrees_and_finds_what_changed(tmp_path: Path) -> None:
    store = Store(tmp_path)
    kept = [
        store.secure(spooled(store, content=RAW + name), "Pier_7", f"{name.decode()}.dng", None)
        for name in (b"b", b"a")
    ]
    store.write_manifest("Pier_7", [(file.sha256, file.path) for file in kept])
    assert checked(tmp_path / "Pier_7").stdout == "a.dng: OK\nb.dng: OK\n"
    (tmp_path / kept[0].path).write_bytes(b"other")
    assert checked(tmp_path / "Pier_7").returncode == 1


def test_names_with_odd_signs_are_escaped_as_sha256sum_does(tmp_path: Path) -> None:
    names = ["a\\b", "line\nbreak", "two  spaces", "*star"]
    for name in names:
        (tmp_path / name).write_bytes(RAW)
    (tmp_path / paths.MANIFEST).write_bytes(manifest.lines((SHA, name) for name in names))
    assert checked(tmp_path).returncode == 0
    own = subprocess.run(["sha256sum", *sorted(names)], cwd=tmp_path, capture_output=True, check=True).stdout
    assert manifest.lines((SHA, name) for name in names) == own


def test_whichever_call_fails_the_old_list_or_the_new_one_is_there(tmp_path: Path) -> None:
    old, new = [(SHA, "Pier_7/a.dng")], [(SHA, "Pier_7/a.dng"), (SHA, "Pier_7/b.dng")]
    disk = FailingDisk()
    store = Store(tmp_path, disk)
    store.write_manifest("Pier_7", old)
    disk.calls.clear()
    store.write_manifest("Pier_7", new)
    bodies = {manifest.lines((sha, path[7:]) for sha, path in entries) for entries in (old, new)}
    for at in range(len(disk.calls)):
        Store(tmp_path).write_manifest("Pier_7", old)
        failing = FailingDisk()
        store = Store(tmp_path, failing)
        store.part_path("Pier_7", "t-1")
        failing.fail_next(at, errno.ENOSPC)
        with pytest.raises(StoreError):
            store.write_manifest("Pier_7", new)
        assert files(tmp_path)[f"Pier_7/{paths.MANIFEST}"] in bodies
    Store(tmp_path).write_manifest("Pier_7", new)
    assert set(files(tmp_path)) == {f"Pier_7/{paths.MANIFEST}"}
