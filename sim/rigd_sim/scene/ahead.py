"""Rendering ahead: fields are made in the background for where the film is going to rest."""

from __future__ import annotations

import threading
from collections import OrderedDict
from concurrent.futures import Future, ThreadPoolExecutor

from rigd_sim.scene.field import Composer, Field

Key = tuple[int | None, float, float]
"""(strip, mm at the gate's middle, f-number)"""


class Ahead:
    """Keeps the last few fields and makes the next one. Any thread may ask."""

    def __init__(self, composer: Composer, kept: int = 2) -> None:
        self._composer = composer
        self._kept = kept
        self._worker = ThreadPoolExecutor(1, "scene-ahead")
        self._lock = threading.Lock()
        self._fields: OrderedDict[Key, Future[Field | None]] = OrderedDict()
        self._newest: Key | None = None

    def want(self, strip: int | None, at_mm: float, f_number: float) -> None:
        """Starts making that field in the background; an older wish not yet begun is dropped."""
        self._begin(_key(strip, at_mm, f_number))

    def get(self, strip: int | None, at_mm: float, f_number: float) -> Field:
        """That field: kept, under way (then it waits), or made now."""
        key = _key(strip, at_mm, f_number)
        future = self._begin(key)
        found = None if future.cancelled() else future.result()
        return self._composer.field(*key) if found is None else found

    def change(self, composer: Composer) -> None:
        """From now on fields come from another composer; those kept are forgotten."""
        with self._lock:
            self._composer = composer
            self._fields.clear()
            self._newest = None

    def close(self) -> None:
        """Ends the worker; waits for what it is doing."""
        self._worker.shutdown(wait=True, cancel_futures=True)

    def _begin(self, key: Key) -> Future[Field | None]:
        with self._lock:
            self._newest = key
            if key not in self._fields:
                self._fields[key] = self._worker.submit(self._make, key, self._composer)
            self._fields.move_to_end(key)
            while len(self._fields) > self._kept:
                self._fields.popitem(last=False)
            return self._fields[key]

    def _make(self, key: Key, composer: Composer) -> Field | None:
        """The field, or None if it is no longer wanted."""
        with self._lock:
            if key != self._newest:
                self._fields.pop(key, None)
                return None
        return composer.field(*key)


def _key(strip: int | None, at_mm: float, f_number: float) -> Key:
    return strip, (round(at_mm, 4) if strip is not None else 0.0), round(f_number, 2)
