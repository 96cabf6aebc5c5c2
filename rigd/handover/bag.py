"""A folder as a bag: payload, checksums, and what it is (BagIt 1.0, RFC 8493)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path

from rigd.handover.files import put_bytes
from rigd.handover.values import Digests
from rigd.store.faults import translated

PAYLOAD = "data"
DECLARATION = "bagit.txt"
INFO = "bag-info.txt"
ALGORITHMS = ("sha256", "sha512")
_CHUNK = 1 << 20
_WIDTH = 79
"""RFC 8493, section 2.2.2: lines of bag-info.txt should not exceed 79 characters; the rest is indented below."""


def payload_files(folder: Path) -> list[Path]:
    """The files of a bag's payload, in order; hidden ones are still being written."""
    top = folder / PAYLOAD
    return sorted(path for path in top.rglob("*") if path.is_file() and not path.name.startswith("."))


def digests(path: Path) -> Digests:
    """Both checksums of a file and its size, read once. Raises DiskFaulty."""
    sums = [hashlib.new(name) for name in ALGORITHMS]
    size = 0
    with translated(f"Reading {path.name}"), path.open("rb", buffering=0) as file:
        while chunk := file.read(_CHUNK):
            size += len(chunk)
            for one in sums:
                one.update(chunk)
    return Digests(sums[0].hexdigest(), sums[1].hexdigest(), size)


def write_tags(folder: Path, payload: Mapping[str, Digests], info: Mapping[str, str]) -> None:
    """Make a folder whose payload is complete a bag: manifests, bag-info.txt, tag manifests; the declaration comes
    last, so that a delivery that was cut off does not pass for one. `payload`: by path relative to the bag. Raises
    DiskFull, DiskFaulty."""
    octets = sum(one.bytes for one in payload.values())
    told = {**info, "Payload-Oxum": f"{octets}.{len(payload)}"}
    tags = {INFO: _info(told), DECLARATION: b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"}
    for name in ALGORITHMS:
        tags[f"manifest-{name}.txt"] = _manifest((getattr(one, name), path) for path, one in payload.items())
    for name in ALGORITHMS:
        sums = ((hashlib.new(name, body).hexdigest(), path) for path, body in tags.items())
        put_bytes(folder, f"tagmanifest-{name}.txt", _manifest(sums))
    for path in sorted(tags, key=lambda path: path == DECLARATION):
        put_bytes(folder, path, tags[path])


def open_again(folder: Path) -> None:
    """Take the declaration away before anything in a bag changes: until it is complete again, it is none."""
    (folder / DECLARATION).unlink(missing_ok=True)


def _manifest(entries: Iterable[tuple[str, str]]) -> bytes:
    """RFC 8493, section 2.1.3: checksum, blanks, path; line ends and per cent signs in a path are written by number."""
    lines = sorted((_escaped(path), digest) for digest, path in entries)
    return "".join(f"{digest}  {path}\n" for path, digest in lines).encode()


def _escaped(path: str) -> str:
    return path.replace("%", "%25").replace("\n", "%0A").replace("\r", "%0D")


def _info(told: Mapping[str, str]) -> bytes:
    return "".join(_folded(f"{label}: {' '.join(value.split())}") for label, value in told.items() if value).encode()


def _folded(line: str) -> str:
    """A line of bag-info.txt, continued on indented lines where it is long."""
    rows = [""]
    for word in line.split(" "):
        if rows[-1] and len(rows[-1]) + 1 + len(word) > _WIDTH:
            rows.append(f" {word}")
        else:
            rows[-1] = f"{rows[-1]} {word}" if rows[-1] else word
    return "\n ".join(row.strip() if n else row for n, row in enumerate(rows)) + "\n"
