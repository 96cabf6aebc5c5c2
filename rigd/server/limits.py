"""Limits on what one client may send: the size and time of a body, and how many commands a second."""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Hashable

from starlette.types import Message, Receive

from rigd.server.problems import Problem

# The longest request is the plan of a roll, under 1 KiB; 64 KiB leaves room and cannot fill memory.
BODY_BYTES = 64 * 1024
BODY_SECONDS = 10.0
# A hand gives three or four commands a second at most; a page that sends more is at fault.
COMMANDS_PER_SECOND = 20
# Connections are bounded to 128; twice that many senders are remembered.
SENDERS = 256

TOO_LARGE = Problem(
    413, "too-large", "The request is too large.", f"A body may have {BODY_BYTES} bytes.", "Send less at once."
)
TOO_SLOW = Problem(
    408, "too-slow", "The request took too long to arrive.",
    f"A body must be here within {BODY_SECONDS:.0f} seconds.", "Try again.",
)  # fmt: skip
BROKEN_OFF = Problem(400, "broken-off", "The request broke off before its end.", "", "Try again.")
TOO_MANY = Problem(
    429, "too-many", "Too many commands at once.",
    f"One connection may send {COMMANDS_PER_SECOND} a second.", "Wait a second.",
)  # fmt: skip


class Refused(Exception):
    """A limit was passed; carries the answer for the client."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.title)
        self.problem = problem


async def whole_body(receive: Receive, most: int = BODY_BYTES, seconds: float = BODY_SECONDS) -> bytes:
    """Read a request's body to its end.

    Raises:
        Refused: it is larger than `most` bytes, not complete after `seconds`, or the client left before its end.
    """
    parts: list[bytes] = []
    size = 0
    try:
        async with asyncio.timeout(seconds):
            while True:
                message = await receive()
                if message["type"] == "http.disconnect":
                    raise Refused(BROKEN_OFF)
                parts.append(message.get("body", b""))
                size += len(parts[-1])
                if size > most:
                    raise Refused(TOO_LARGE)
                if not message.get("more_body", False):
                    return b"".join(parts)
    except TimeoutError:
        raise Refused(TOO_SLOW) from None


def replay(body: bytes, receive: Receive) -> Receive:
    """A `receive` that gives the body that was read, once, and then what comes after it."""
    waiting = [body]

    async def again() -> Message:
        if waiting:
            return {"type": "http.request", "body": waiting.pop(), "more_body": False}
        return await receive()

    return again


class Pace:
    """Counts commands by sender over the last second. Forgets the sender that was silent longest."""

    def __init__(self, most: int = COMMANDS_PER_SECOND, now: Callable[[], float] = time.monotonic) -> None:
        self._most = most
        self._now = now
        self._sent: OrderedDict[Hashable, deque[float]] = OrderedDict()

    def allow(self, sender: Hashable) -> bool:
        """Count one command; False if this sender has had its number for this second."""
        now = self._now()
        times = self._sent.setdefault(sender, deque())
        self._sent.move_to_end(sender)
        if len(self._sent) > SENDERS:
            self._sent.popitem(last=False)
        while times and now - times[0] >= 1.0:
            times.popleft()
        if len(times) >= self._most:
            return False
        times.append(now)
        return True
