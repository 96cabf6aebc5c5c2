"""Where things lie: the job's folder, the private folders of this user, the web files."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
import tempfile
from pathlib import Path

from rigd.errors import BadSetting

LEDGER = "ledger.sqlite"
LOCK = "ledger.lock"
BALLAST = "ledger.ballast"
UNCLAIMED = "unclaimed"
PREVIEWS = ".previews"
MANIFEST = "manifest-sha256.txt"


def ledger_file(root: Path) -> Path:
    """The ledger of the job whose folder is `root`."""
    return root / LEDGER


def lock_file(root: Path) -> Path:
    """The file whose lock says who owns the ledger of this job. It stays when nobody does."""
    return root / LOCK


def ballast_file(root: Path) -> Path:
    """The reserved file that is given up so that the ledger can still commit on a full disk."""
    return root / BALLAST


def unclaimed_folder(root: Path) -> Path:
    """Where files lie that belong to no take."""
    return root / UNCLAIMED


def previews_folder(root: Path) -> Path:
    """Where positives of takes are kept. It may be thrown away: they are drawn again from the raws."""
    return root / PREVIEWS


def runtime_dir() -> Path:
    """The private folder for files that are worth nothing after a restart; made if missing.

    `XDG_RUNTIME_DIR/rigd` where that is set (XDG Base Directory Specification 0.8), else `rigd-<uid>` in the
    folder for temporary files.

    Raises:
        BadSetting: the folder belongs to somebody else, or others can read it.
    """
    base = os.environ.get("XDG_RUNTIME_DIR")
    folder = Path(base) / "rigd" if base else Path(tempfile.gettempdir()) / f"rigd-{os.getuid()}"
    return _private(folder)


def state_dir() -> Path:
    """The private folder for what outlives a restart and belongs to no job (pairings); made if missing.

    Raises:
        BadSetting: the folder belongs to somebody else, or others can read it.
    """
    return _private(_user_base("XDG_STATE_HOME", ".local/state") / "rigd")


def known_jobs() -> Path:
    """The folder of what is known of this machine's jobs; it need not exist. Raises BadSetting as `state_dir` does."""
    return state_dir() / "jobs"


def config_file() -> Path:
    """The settings file that is read where no other is named. It need not exist."""
    return _user_base("XDG_CONFIG_HOME", ".config") / "rigd" / "rigd.toml"


def web_root() -> Path:
    """The folder of the page's files: inside the installed package, or beside the package in a checkout."""
    package = Path(__file__).resolve().parent
    installed = package / "_static"
    return installed if installed.is_dir() else package.parent / "web"


def _user_base(variable: str, usual: str) -> Path:
    value = os.environ.get(variable, "")
    if Path(value).is_absolute():  # the specification tells to ignore relative ones
        return Path(value)
    return Path.home() / ("Library/Application Support" if sys.platform == "darwin" else usual)


def _private(folder: Path) -> Path:
    """Make `folder` for this user alone, or check that it is: a folder that another user made first is a trap."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with contextlib.suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    found = folder.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.getuid() or found.st_mode & 0o077:
        raise BadSetting(
            f"{folder} is not private.",
            "It must be a real folder of this user that nobody else can enter, because a key to rigd lies in it.",
            "Remove it, or run: chmod 700 on it if it is yours.",
        )
    return folder
