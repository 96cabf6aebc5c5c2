"""The files of this project, for tests that look at the project itself."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

_BUILT = {".venv", "build", "dist", "node_modules", "__pycache__"}
"""Folders that hold nothing of ours, where no git is there to say so (an unpacked source archive)."""


def files() -> list[Path]:
    """All files that are tracked, or would be with the next `git add`; paths relative to `ROOT`, sorted."""
    found = _by_git() if (ROOT / ".git").exists() else _by_walking()
    return sorted(path for path in found if (ROOT / path).is_file())


def text_of(path: Path) -> str | None:
    """The text of a file, None if it is none."""
    data = (ROOT / path).read_bytes()
    return None if b"\0" in data else data.decode("utf-8", errors="replace")


def commit_messages() -> list[str]:
    """The messages of all commits; none where there is no git."""
    if not (ROOT / ".git").exists():
        return []
    return [message for message in _git("log", "--format=%h %B%x00").split("\0") if message.strip()]


def _by_git() -> list[Path]:
    listed = _git("ls-files", "-z", "--cached", "--others", "--exclude-standard")
    return [Path(name) for name in listed.split("\0") if name]


def _by_walking() -> list[Path]:
    found = []
    for folder, inner, names in os.walk(ROOT):
        inner[:] = [name for name in inner if name not in _BUILT and not name.endswith("_cache")]
        found += [(Path(folder) / name).relative_to(ROOT) for name in names]
    return found


def _git(*arguments: str) -> str:
    # Root may look at a checkout that belongs to somebody else, as happens in containers.
    command = ["git", "-c", f"safe.directory={ROOT}", "-C", str(ROOT), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout
