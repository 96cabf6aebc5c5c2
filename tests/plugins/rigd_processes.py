"""Which processes the tests have started and not ended, down to grandchildren whose parent is gone."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path
from typing import NamedTuple

MARK = "RIGD_TEST_RUN"
"""Put into the environment of the test run, so that children inherit it: that is how an orphan is known as ours."""


class Process(NamedTuple):
    """A running process: `started` is in clock ticks since boot (0 where unknown), so that a reused id is another."""

    pid: int
    started: int
    command: str


class _Row(NamedTuple):
    parent: int
    state: str
    process: Process


def mark_ourselves() -> None:
    os.environ[MARK] = ",".join([part for part in (os.environ.get(MARK), _me()) if part])


def ours() -> set[Process]:
    """Every running process that descends from this one or carries its mark; zombies hold nothing and do not count."""
    rows = list(_rows_from_proc() if Path("/proc/self/stat").exists() else _rows_from_ps())
    family = {os.getpid()}
    grown = True
    while grown:
        more = {row.process.pid for row in rows if row.parent in family} - family
        family |= more
        grown = bool(more)
    return {
        row.process
        for row in rows
        if row.process.pid != os.getpid()
        and row.state != "Z"
        and (row.process.pid in family or _is_marked(row.process))
    }


def _me() -> str:
    return f"<{os.getpid()}>"


def _rows_from_proc() -> list[_Row]:
    rows = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            name, _, rest = (folder / "stat").read_text(errors="replace").rpartition(")")
        except OSError:
            continue
        fields = rest.split()
        rows.append(_Row(int(fields[1]), fields[0], Process(int(folder.name), int(fields[19]), name.partition("(")[2])))
    return rows


def _rows_from_ps() -> list[_Row]:
    """macOS has no /proc: the family tree by ps, orphans unseen."""
    with subprocess.Popen(["ps", "-A", "-o", "pid=,ppid=,stat=,comm="], stdout=subprocess.PIPE, text=True) as ps:
        lines = ps.communicate()[0].splitlines()
    parts = [line.split(None, 3) for line in lines]
    return [
        _Row(int(parent), state[0], Process(int(pid), 0, command))
        for pid, parent, state, command in parts
        if int(pid) != ps.pid
    ]


_strangers: set[Process] = set()


def _is_marked(process: Process) -> bool:
    if process in _strangers:
        return False
    try:
        return _me().encode() in Path(f"/proc/{process.pid}/environ").read_bytes()
    except OSError:
        return False


def remember_strangers() -> None:
    """Spare ourselves the look at what was running before the tests: none of it can be ours."""
    if Path("/proc/self/stat").exists():
        _strangers.update(row.process for row in _rows_from_proc())
