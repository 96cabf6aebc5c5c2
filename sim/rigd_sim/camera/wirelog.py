"""What went over the wire and when, for tests and measurements."""

from __future__ import annotations

import time
from collections import deque
from dataclasses import asdict, dataclass

KEEP = 100_000  # entries; about 20 MB, some hours of a busy session


@dataclass(frozen=True)
class Entry:
    """One operation or event.

    kind            `operation` or `event`.
    code            the operation's or the event's.
    start           the last byte of the request was read (an event: it was taken up for sending).
    end             the last byte of the answer, or of the event, was handed to the system.
    sent, received  payload bytes.
    response        the PTP response code, 0 for events.
    Times in seconds of the machine's monotonic clock, which all processes share.
    """

    kind: str
    code: int
    params: tuple[int, ...]
    start: float
    end: float
    sent: int = 0
    received: int = 0
    response: int = 0


class WireLog:
    """The latest entries, each with a serial number that keeps counting when old ones fall out."""

    def __init__(self, keep: int = KEEP) -> None:
        self._entries: deque[tuple[int, Entry]] = deque(maxlen=keep)
        self._count = 0

    def add(self, entry: Entry) -> None:
        self._count += 1
        self._entries.append((self._count, entry))

    def since(self, number: int = 0) -> list[dict[str, object]]:
        """Entries after the one numbered `number`, as plain values with `number` added."""
        return [{"number": n, **asdict(entry)} for n, entry in self._entries if n > number]


now = time.monotonic
