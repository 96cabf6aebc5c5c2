"""A bag to a store elsewhere, through fsspec: verified after arrival, gone on with after whatever happened."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import fsspec
from msgspec import Struct

from rigd.errors import InputError, RigdError
from rigd.handover import record
from rigd.handover.bag import DECLARATION
from rigd.handover.files import DISK, put_bytes
from rigd.store.hashing import digest_of

_CHUNK = 4 << 20
_WHOLE = {"s3", "s3a", "gs", "gcs", "abfs", "az", "memory"}
"""Stores in which a file is there whole or not at all. Elsewhere it is written under another name and renamed."""
_EXTRAS = {"s3": "pip install s3fs", "s3a": "pip install s3fs", "sftp": "pip install paramiko",
           "ssh": "pip install paramiko"}  # fmt: skip


class SendFailed(RigdError):
    code = "send-failed"


class Sent(Struct, frozen=True):
    """What lies at `url` now: `files` verified there, of which `now` were sent in this run."""

    url: str
    files: int
    now: int
    bytes: int


class Remote:
    """One address. Blocking; nothing is deleted there but the bag's declaration, which is written last."""

    def __init__(self, url: str, **options: Any) -> None:
        """`options` go to fsspec's file system of that kind (an endpoint, a port).

        Raises:
            InputError: no such kind of store, or the package for it is missing.
        """
        self.url = url
        try:
            self._fs, self._top = fsspec.core.url_to_fs(url, **options)
        except (ValueError, ImportError) as error:
            kind = url.partition("://")[0]
            remedy = _EXTRAS.get(kind, "Use a folder, or an address such as s3://bucket/folder or sftp://host/folder.")
            raise InputError(f"{url} cannot be reached.", f"{error}.", remedy) from error
        except Exception as error:
            raise _failed(f"{url} cannot be reached", error) from error
        kinds = self._fs.protocol if isinstance(self._fs.protocol, tuple) else (self._fs.protocol,)
        self._is_whole = bool(_WHOLE.intersection(kinds))

    def send(self, bag: Path, verified: dict[str, str], tell: Callable[[int, int], None]) -> Sent:
        """Send every file of a bag that is not there yet, and read each back.

        Args:
            verified: checksums of the files that were found whole there before, by path; added to as this run goes.
            tell: (files done, of all).

        Raises:
            InputError: the folder is no whole bag. SendFailed: the store or the way to it failed.
        """
        if not (bag / DECLARATION).is_file():
            raise InputError(f"{bag} is no complete bag.", "Only what is whole is sent.", "Hand over again first.")
        files = list(_in_order(bag))
        sums = {path: digest_of(DISK, bag / path)[0] for path in files}
        stale = [path for path in files if verified.get(path) != sums[path] or not self._as_long(path, bag / path)]
        if stale and verified.pop(DECLARATION, None) is not None:
            self._guarded(lambda: self._fs.exists(self._at(DECLARATION)) and self._fs.rm(self._at(DECLARATION)))
            stale = [path for path in files if path in {*stale, DECLARATION}]
        for done, path in enumerate(stale):
            tell(len(files) - len(stale) + done, len(files))
            self._one(bag / path, path, sums[path])
            verified[path] = sums[path]
        tell(len(files), len(files))
        return Sent(self.url, len(files), len(stale), sum((bag / path).stat().st_size for path in files))

    def _one(self, source: Path, path: str, sha256: str) -> None:
        final = self._at(path)
        there = final if self._is_whole else f"{final}.part"
        self._guarded(lambda: self._fs.makedirs(final.rpartition("/")[0], exist_ok=True))
        self._guarded(lambda: self._fs.put_file(str(source), there))
        if self._guarded(lambda: self._read_back(there)) != sha256:
            raise SendFailed(f"{path} did not arrive whole at {self.url}.", "Read back, its checksum is another.",
                             "Run the same command again; if it stays so, distrust that store.")  # fmt: skip
        if there != final:
            self._guarded(lambda: self._fs.exists(final) and self._fs.rm(final))
            self._guarded(lambda: self._fs.mv(there, final))

    def _read_back(self, there: str) -> str:
        digest = hashlib.sha256()
        self._fs.invalidate_cache()
        with self._fs.open(there, "rb", block_size=_CHUNK) as file:
            while chunk := file.read(_CHUNK):
                digest.update(chunk)
        return digest.hexdigest()

    def _as_long(self, path: str, here: Path) -> bool:
        """Cheap proof that nobody took it away meanwhile; its bytes were compared when it arrived."""
        try:
            return bool(self._fs.size(self._at(path)) == here.stat().st_size)
        except FileNotFoundError:
            return False
        except Exception as error:
            raise _failed(f"{self.url} cannot be read", error) from error

    def _at(self, path: str) -> str:
        return f"{self._top.rstrip('/')}/{path}"

    def _guarded(self, call: Callable[[], Any]) -> Any:
        try:
            return call()
        except RigdError:
            raise
        except Exception as error:  # each store has errors of its own
            raise _failed(f"Sending to {self.url} failed", error) from error


def send_bag(bag: Path, job_id: str, remote: Remote, tell: Callable[[int, int], None]) -> Sent:
    """`Remote.send`, with what arrived kept in the delivery's own record, so that a broken run is gone on with.

    Raises:
        Busy: a handover writes into the bag. InputError, SendFailed: as `Remote.send`.
    """
    with record.alone(bag):
        known = record.load(bag, job_id)
        try:
            return remote.send(bag, known.sent.setdefault(remote.url, {}), tell)
        finally:
            put_bytes(bag, record.RECORD, record.encode(known))


def _failed(what: str, error: Exception) -> SendFailed:
    said = " ".join(str(error).split()) or type(error).__name__
    return SendFailed(f"{what}.", f"{said[:300]}.", "Mend the way there, then run the same command: it goes on.")


def _in_order(bag: Path) -> Iterator[str]:
    """Files of a bag by path: payload, tags, and the declaration last. What is ours alone stays here."""
    paths = sorted(p.relative_to(bag).as_posix() for p in bag.rglob("*") if p.is_file())
    own = {record.RECORD, record.LOCK, DECLARATION}
    yield from (path for path in paths if path not in own and not path.rpartition("/")[2].startswith("."))
    yield DECLARATION
