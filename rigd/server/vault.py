"""The private file that sessions outlive a restart in: hashes only, for this user's eyes alone.

One file a port, because a cookie belongs to a port. It lies outside every job's folder, so that it is never handed
over with a ledger.
"""

from __future__ import annotations

import contextlib
import logging
import os
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from rigd import paths

log = logging.getLogger("rigd.server")

T = TypeVar("T")


class Vault:
    """One value in one file of mode 0600."""

    def __init__(self, place: Path) -> None:
        self._place = place

    @classmethod
    def of_port(cls, port: int) -> Vault:
        """The vault of the sessions that a port gave out. Raises BadSetting where the folder is not private."""
        return cls(paths.state_dir() / f"devices-{port}.json")

    def load(self, kind: type[T]) -> T | None:
        """What was saved; None if there is nothing, or it cannot be read: then everybody pairs again."""
        try:
            return msgspec.json.decode(self._place.read_bytes(), type=kind)
        except FileNotFoundError:
            return None
        except (OSError, msgspec.DecodeError) as error:
            log.warning("The paired devices in %s cannot be read, so they must pair again: %s", self._place, error)
            return None

    def save(self, value: Any) -> None:
        """Replace what was saved, whole or not at all. A disk that refuses is logged: rigd goes on without."""
        fresh = self._place.with_suffix(f".{os.getpid()}")
        try:
            fresh.unlink(missing_ok=True)
            descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600)
            with os.fdopen(descriptor, "wb") as file:
                file.write(msgspec.json.encode(value))
            fresh.replace(self._place)
        except OSError as error:
            log.warning("The paired devices could not be saved in %s: %s", self._place, error)
            with contextlib.suppress(OSError):
                fresh.unlink(missing_ok=True)
