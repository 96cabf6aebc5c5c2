"""The checksum list of a folder, in the format that `sha256sum --check` reads (GNU coreutils manual, md5sum)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from rigd import paths
from rigd.store import whole
from rigd.store.disk import Disk

_ESCAPED = re.compile(r"\\([nr\\])")


def lines(entries: Iterable[tuple[str, str]]) -> bytes:
    """The list of (sha256, name) in the order of the names."""
    return b"".join(_line(digest, name) for digest, name in sorted(entries, key=lambda entry: entry[1]))


def write(disk: Disk, folder: Path, body: bytes) -> None:
    """Put the list into `folder` at one stroke: at any moment the old one or the new one is there. Raises OSError."""
    whole.write(disk, folder / paths.MANIFEST, body)
    disk.sync_folder(folder)


def read(body: bytes) -> dict[str, str]:
    """sha256 by name, of a list in that format; lines that are none are passed over."""
    found = {}
    for line in body.decode(errors="replace").split("\n"):
        digest, _, name = line.removeprefix("\\").partition("  ")
        if len(digest) == 64 and name:
            found[_ESCAPED.sub(_plain, name) if line.startswith("\\") else name] = digest
    return found


def _plain(match: re.Match[str]) -> str:
    return {"n": "\n", "r": "\r", "\\": "\\"}[match[1]]


def _line(digest: str, name: str) -> bytes:
    escaped = name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
    mark = "\\" if escaped != name else ""
    return f"{mark}{digest}  {escaped}\n".encode()
