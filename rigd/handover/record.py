"""What a delivery's folder remembers of itself, so that only what changed is done again."""

from __future__ import annotations

import contextlib
import fcntl
import os
from collections.abc import Iterator
from pathlib import Path

import msgspec
from msgspec import Struct

from rigd.errors import Busy, InputError
from rigd.handover.values import Digests, FrameMade, Three
from rigd.store.faults import translated

RECORD = "handover.json"
LOCK = ".handover.lock"


class Seen(Struct, frozen=True):
    """Checksums of a payload file, and the size and time of change they were taken at."""

    digests: Digests
    changed_ns: int


class Record(Struct):
    """By frame id what was made; by `sha256 of the raw` and base its tones; by path in the bag what was read of it; by
    roll what its sheet was drawn of; `ours`: the payload files that we put there;
    `sent`: by address, the checksums of what was found whole there."""

    job_id: str
    made: dict[str, FrameMade] = {}
    tones: dict[str, list[Three]] = {}
    seen: dict[str, Seen] = {}
    sheets: dict[str, str] = {}
    ours: list[str] = []
    sent: dict[str, dict[str, str]] = {}


def load(out: Path, job_id: str) -> Record:
    """The record of a folder: a new one for a new or empty folder.

    Raises:
        InputError: the folder holds something else, or the delivery of another job.
    """
    try:
        record = msgspec.json.decode((out / RECORD).read_bytes(), type=Record)
    except FileNotFoundError:
        strangers = [p.name for p in out.iterdir() if p.name != LOCK] if out.is_dir() else []
        if strangers:
            raise InputError(f"{out} is not empty, and no delivery of ours.", f"It holds {strangers[0]}.",
                             "Name a new folder.") from None  # fmt: skip
        return Record(job_id)
    except (msgspec.DecodeError, OSError) as error:
        remedy = "Move the folder away, or name a new one."
        raise InputError(f"{out / RECORD} cannot be read.", f"{error}.", remedy) from error
    if record.job_id != job_id:
        raise InputError(f"{out} holds the delivery of another job.", "", "Name a new folder.")
    return record


encode = msgspec.json.Encoder().encode


@contextlib.contextmanager
def alone(out: Path) -> Iterator[None]:
    """Nobody else writes into this folder meanwhile; the folder is made. Raises Busy, InputError where it is a file,
    DiskFull, DiskFaulty."""
    if out.exists() and not out.is_dir():
        raise InputError(f"{out} is no folder.", "A file has that name.", "Name another folder.")
    with translated(f"Writing into {out}"):
        out.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(out / LOCK, os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o644)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            remedy = "Wait until it has ended, or name another folder."
            raise Busy(f"Another handover writes into {out}.", "", remedy) from None
        yield
    finally:
        os.close(descriptor)
