"""A real volume that is really full: a small tmpfs, where this user may mount one."""

from __future__ import annotations

import contextlib
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest


@contextlib.contextmanager
def small_disk(size: str) -> Iterator[Path]:
    """An empty volume of `size` (as mount(8) takes it); the test is left out where none can be had.

    It does not lie among pytest's own folders: those are swept by other runs too.
    """
    mount = shutil.which("mount")
    if mount is None:
        pytest.skip("no mount(8) here: a really full disk cannot be tried")
    at = Path(tempfile.mkdtemp(prefix="rigd-small-disk-"))
    done = subprocess.run(
        [mount, "-t", "tmpfs", "-o", f"size={size}", "none", str(at)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        at.rmdir()
        pytest.skip(
            f"this user may not mount a small volume ({done.stderr.strip()}): a really full disk cannot be tried"
        )
    try:
        yield at
    finally:
        # Lazily: a file that a failing test left open must not leave the volume behind too.
        subprocess.run(["umount", "-l", str(at)], check=True)
        at.rmdir()


def fill(folder: Path, leave: int = 0) -> Path:
    """Fill the volume with one file, but for `leave` bytes."""
    path = folder / "filling"
    with contextlib.suppress(OSError), path.open("wb", buffering=0) as file:
        while file.write(bytes(4096)):
            pass
    with path.open("r+b") as file:
        file.truncate(max(0, path.stat().st_size - leave))
    return path
