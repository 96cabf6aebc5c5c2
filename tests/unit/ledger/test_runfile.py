"""The run file: private, one a job, and worth nothing once its process is gone."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from rigd.errors import BadSetting
from rigd.ledger import read_run_file, remove_run_file, write_run_file

WRITER = """
import sys
from pathlib import Path
from rigd.ledger import write_run_file
print(write_run_file(Path(sys.argv[1]), "http://127.0.0.1:4242", "secret"), flush=True)
sys.stdin.read()
"""


@pytest.fixture(autouse=True)
def _private_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    runtime = tmp_path / "run"
    runtime.mkdir(mode=0o700)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(runtime))


@pytest.fixture
def job(tmp_path: Path) -> Path:
    root = tmp_path / "job"
    root.mkdir()
    return root


def test_what_was_written_is_read_by_any_way_to_the_folder(job: Path) -> None:
    write_run_file(job, "http://127.0.0.1:4242", "secret")
    (job.parent / "way").symlink_to(job)
    for way in (job, job.parent / "way", job.parent / "." / "job"):
        run = read_run_file(way)
        assert run is not None
        assert (run.url, run.token, run.pid) == ("http://127.0.0.1:4242", "secret", os.getpid())
    assert read_run_file(job.parent) is None


def test_nobody_else_can_read_it(job: Path) -> None:
    place = write_run_file(job, "http://127.0.0.1:4242", "secret")
    assert stat.S_IMODE(place.stat().st_mode) == 0o600
    assert stat.S_IMODE(place.parent.stat().st_mode) == 0o700
    place.chmod(0o644)
    again = write_run_file(job, "http://127.0.0.1:4243", "other")
    assert stat.S_IMODE(again.stat().st_mode) == 0o600
    assert [p.name for p in place.parent.iterdir()] == [place.name]


@pytest.mark.parametrize("killed", [False, True])
def test_a_file_whose_process_is_gone_counts_for_nothing(job: Path, killed: bool) -> None:
    with subprocess.Popen([sys.executable, "-c", WRITER, job], stdin=-1, stdout=-1, text=True) as writer:
        assert writer.stdout is not None
        place = Path(writer.stdout.readline().strip())
        run = read_run_file(job)
        assert run is not None
        assert run.pid == writer.pid
        remove_run_file(job)  # another process's, and alive: it stays
        assert place.exists()
        if killed:
            writer.kill()
    assert read_run_file(job) is None
    remove_run_file(job)
    assert not place.exists()


def test_a_later_process_with_the_same_number_is_not_taken_for_it(job: Path) -> None:
    place = write_run_file(job, "http://127.0.0.1:4242", "secret")
    if not json.loads(place.read_text())["born"]:
        pytest.skip("this system does not tell when a process started")
    place.write_text(place.read_text().replace('"born":"', '"born":"1'))
    assert read_run_file(job) is None


def test_a_folder_that_others_can_enter_is_refused(job: Path) -> None:
    place = write_run_file(job, "http://127.0.0.1:4242", "secret")
    place.parent.chmod(0o755)
    with pytest.raises(BadSetting, match="not private"):
        write_run_file(job, "http://127.0.0.1:4242", "secret")


def test_rubbish_is_no_run_file(job: Path) -> None:
    write_run_file(job, "http://127.0.0.1:4242", "secret").write_bytes(b"{")
    assert read_run_file(job) is None
