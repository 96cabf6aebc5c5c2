"""Files made safe, found again, verified: see `Store`."""

from __future__ import annotations

from rigd.store.ballast import Ballast
from rigd.store.disk import Disk
from rigd.store.room import DISARM_FRAMES, Level, Room
from rigd.store.store import Store, StoredFile

__all__ = ["DISARM_FRAMES", "Ballast", "Disk", "Level", "Room", "Store", "StoredFile"]
