"""What is known of the jobs of this machine: a small file each, in the private folder of this user.

Whoever owns a job's ledger writes its file, whole or not at all; everybody may read them. So a roll is found without
opening any ledger, also where the disk of its job is away. The files hold nothing that the ledgers do not say.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterator
from pathlib import Path

import msgspec

from rigd import paths
from rigd.model.found import KnownJob

_decode = msgspec.json.Decoder(KnownJob).decode


def write_known(known: KnownJob) -> None:
    """Replace what was known of the job. Raises OSError, BadSetting."""
    place = _place(known.job.job_id)
    place.parent.mkdir(mode=0o700, exist_ok=True)
    part = place.with_suffix(f".{os.getpid()}")
    part.write_bytes(msgspec.json.encode(known))
    part.chmod(0o600)
    part.replace(place)


def read_known(job_id: str) -> KnownJob | None:
    """What is known of one job; None for nothing, or nothing that can be read. Raises BadSetting."""
    with contextlib.suppress(OSError, msgspec.DecodeError, UnicodeDecodeError):
        return _decode(_place(job_id).read_bytes())
    return None


def all_known() -> Iterator[tuple[str, KnownJob | None]]:
    """Every job by the name of its file, None where that cannot be read. Raises BadSetting."""
    for place in sorted(paths.known_jobs().glob("*.json")):
        yield place.stem, read_known(place.stem)


def forget(job_id: str) -> bool:
    """Take a job off the list; its folder is not touched. False if it was not on it. Raises BadSetting."""
    try:
        _place(job_id).unlink()
    except FileNotFoundError:
        return False
    return True


def _place(job_id: str) -> Path:
    """Ids are hexadecimal; one that came with a ledger from elsewhere must name no other file."""
    return paths.known_jobs() / f"{re.sub(r'[^0-9A-Za-z-]', '_', job_id)}.json"
