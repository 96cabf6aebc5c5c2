"""How a command finds the daemon that owns a ledger: address and run-time key in a private file, one a job."""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

import msgspec
from msgspec import Struct

from rigd import paths


class RunFile(Struct, frozen=True):
    """`url` and `token` of the daemon on the job in `root`; `born` tells its process from a later one of that pid."""

    root: str
    url: str
    token: str
    pid: int
    born: str = ""


def write_run_file(root: Path, url: str, token: str) -> Path:
    """Say that this process serves the job in `root` at `url`. Mode 0600; replaces an older one.

    Raises:
        BadSetting: the folder for such files is not private.
    """
    pid = os.getpid()
    body = msgspec.json.encode(RunFile(str(root.resolve()), url, token, pid, _born(pid)))
    place = _place(root)
    fresh = place.with_suffix(f".{pid}")
    fresh.unlink(missing_ok=True)
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(body)
    fresh.replace(place)
    return place


def read_run_file(root: Path) -> RunFile | None:
    """What the daemon on that job said, or None if there is none or its process is gone (a stale file)."""
    try:
        run = msgspec.json.decode(_place(root).read_bytes(), type=RunFile)
    except (FileNotFoundError, msgspec.DecodeError):
        return None
    return run if run.root == str(root.resolve()) and _lives(run) else None


def remove_run_file(root: Path) -> None:
    """Take back what this process wrote; a file that another one wrote since stays."""
    run = read_run_file(root)
    if run is None or run.pid == os.getpid():
        _place(root).unlink(missing_ok=True)


def _place(root: Path) -> Path:
    # 128 bits of the path's hash: names of any length and sign become one plain name.
    key = hashlib.sha256(os.fsencode(root.resolve())).hexdigest()[:32]
    return paths.runtime_dir() / f"{key}.json"


def _lives(run: RunFile) -> bool:
    try:
        os.kill(run.pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:  # it lives, under another user
        return True
    return not run.born or _born(run.pid) == run.born


def _born(pid: int) -> str:
    """When the process started, in ticks since boot (field 22 of proc_pid_stat(5)); "" where there is no /proc."""
    with contextlib.suppress(OSError):
        # The name in parentheses may hold spaces and parentheses itself: count from the last one.
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[19]
    return ""
