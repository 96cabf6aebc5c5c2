"""The set-up scripts: clear words when something is missing, nothing to do when nothing is."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from rigd_tree import ROOT

TOOLS = ("sh", "bash", "cat", "cut", "tr", "sed", "id", "env", "dirname", "basename", "rm", "cmp", "echo")
"""Commands every machine has (POSIX, and bash), so that all others can be hidden."""


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A checkout with the scripts and locks only."""
    shutil.copytree(ROOT / ".ci", tmp_path / "house/.ci")
    for name in ("requirements.lock", "requirements-dev.lock"):
        shutil.copy(ROOT / name, tmp_path / "house")
    return tmp_path / "house"


@pytest.fixture
def tools(tmp_path: Path) -> Path:
    folder = tmp_path / "bin"
    folder.mkdir()
    for name in TOOLS:
        (folder / name).symlink_to(shutil.which(name) or name)
    return folder


def script(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("#!/bin/sh\n" + text)
    path.chmod(0o755)
    return path


def run(*command: str | Path, path: Path | str = os.environ["PATH"], **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, env={"PATH": str(path), "HOME": "/", **env}, capture_output=True, text=True)


def test_a_python_that_is_too_old_is_refused(house: Path, tmp_path: Path) -> None:
    old = script(tmp_path / "python3", "exit 1\n")
    done = run("sh", house / ".ci/venv", PYTHON=str(old))
    assert done.returncode == 1
    assert f"PYTHON={old} is not a Python 3.11 or newer" in done.stderr


def test_no_python_at_all_is_said(house: Path, tools: Path) -> None:
    blind = house / ".ci/venv"  # without the places where version managers and Homebrew put theirs
    blind.write_text(blind.read_text().replace("/usr/local/bin/", "/none/").replace("/opt/homebrew/", "/none/"))
    done = run("sh", blind, path=tools, PYENV_ROOT="/none")
    assert done.returncode == 1
    assert "Python 3.11 or newer was not found" in done.stderr


def test_a_missing_venv_package_is_named(house: Path, tmp_path: Path) -> None:
    """As on Debian, where `ensurepip` comes with python3.x-venv only."""
    lame = script(tmp_path / "python3", f'case "$*" in *ensurepip*) exit 1 ;; esac\nexec "{sys.executable}" "$@"\n')
    done = run("sh", house / ".ci/venv", PYTHON=str(lame))
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    assert done.returncode == 1
    assert f"apt-get install python{version}-venv" in done.stderr


def recipe(house: Path) -> str:
    return f"{house.resolve()}\n" + (house / "requirements.lock").read_text() + (house / ".ci/venv").read_text()


def test_nothing_is_done_when_the_environment_is_up_to_date(house: Path) -> None:
    script(house / ".venv/bin/python", 'case "$*" in *version_info*) exit 0 ;; esac\necho asked "$@"\nexit 1\n')
    (house / ".venv/built-runtime").write_text(recipe(house))
    done = run("sh", house / ".ci/venv", "runtime")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_a_changed_lock_is_installed_with_hashes_and_a_failure_is_explained(house: Path) -> None:
    script(house / ".venv/bin/python", 'case "$*" in *version_info*) exit 0 ;; esac\necho asked "$@"\nexit 1\n')
    (house / ".venv/built-runtime").write_text("another recipe")
    done = run("sh", house / ".ci/venv", "runtime")
    assert done.returncode == 1
    assert "--only-binary :all: --require-hashes -r" in done.stdout
    assert "could not be installed" in done.stderr
    assert not (house / ".venv/built-runtime").exists()


def test_debian_packages_that_are_missing_are_named_with_what_is_left_out(house: Path, tools: Path) -> None:
    done = run("sh", house / ".ci/packages", path=tools)
    assert done.returncode == 0
    assert "chromium: the page in a real browser; left out: tests marked browser" in done.stdout
    assert "apt-get install --no-install-recommends gphoto2 chromium" in done.stdout


def test_only_the_missing_packages_are_installed(house: Path, tools: Path) -> None:
    """By a recording apt-get, as root or through sudo without a password."""
    script(tools / "apt-get", 'echo apt-get "$@" >&2\n')
    (tools / "id").unlink()
    script(tools / "id", "echo 0\n")
    script(tools / "gphoto2", "exit 0\n")
    done = run("sh", house / ".ci/packages", path=tools)
    assert done.stderr.startswith("apt-get -o DPkg::Lock::Timeout=120 -qq update\n")
    assert "install -y -qq --no-install-recommends chromium " in done.stderr
    assert " gphoto2 " not in done.stderr


def test_the_whole_run_forbids_skips(house: Path, tools: Path) -> None:
    script(tools / "make", 'echo make "$@" RIGD_NO_SKIPS=$RIGD_NO_SKIPS\nexit 3\n')
    done = run("bash", house / ".ci/run", path=tools)
    assert (done.returncode, done.stdout) == (3, "make test RIGD_NO_SKIPS=1\n")
