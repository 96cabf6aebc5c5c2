"""Where things lie; folders for keys are this user's alone."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from rigd import paths
from rigd.errors import BadSetting


def test_without_the_session_s_folder_a_private_one_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    folder = paths.runtime_dir()
    assert folder == tmp_path / f"rigd-{os.getuid()}"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert paths.runtime_dir() == folder


def test_a_link_that_waits_in_the_folder_s_place_is_a_trap(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir(mode=0o700)
    (tmp_path / "rigd").symlink_to(elsewhere)
    with pytest.raises(BadSetting, match="not private"):
        paths.runtime_dir()


def test_the_state_folder_follows_the_specification(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification 0.8: absolute paths only, else the default below the home folder."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert paths.state_dir() == tmp_path / "state" / "rigd"
    monkeypatch.setenv("XDG_STATE_HOME", "state")
    assert paths.state_dir() == tmp_path / ".local" / "state" / "rigd"
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    assert paths.config_file() == tmp_path / ".config" / "rigd" / "rigd.toml"


def test_the_page_is_found_beside_the_source_of_a_checkout() -> None:
    assert paths.web_root() == Path(paths.__file__).resolve().parents[1] / "web"
