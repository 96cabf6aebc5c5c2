"""One thread that does one call after the other, in the order in which they were asked for."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Callable
from queue import SimpleQueue
from typing import Any, TypeVar

from rigd.errors import LedgerError

T = TypeVar("T")
_Job = tuple[Callable[[], Any], Callable[[Any], None] | None, "asyncio.Future[Any]"]


class OwnerThread:
    """Runs calls in a thread of its own; what they return or raise comes back to the event loop that asked."""

    def __init__(self, name: str) -> None:
        self.ended = False
        self._queue: SimpleQueue[_Job | None] = SimpleQueue()
        # Daemon: a program that ends without closing must not hang here; the journal undoes what was under way.
        self._thread = threading.Thread(target=self._work, name=name, daemon=True)
        self._thread.start()

    def submit(self, call: Callable[[], T], then: Callable[[T], None] | None = None) -> asyncio.Future[T]:
        """Queue `call` at once. Its result is given to `then` on the event loop, and after that to the future.

        `then` runs even if nobody waits for the future any more: a cancelled wait undoes nothing.

        Raises:
            LedgerError: `end` was called.
        """
        if self.ended:
            raise LedgerError("The ledger is closed.", "It was given free.", "Open it again.")
        future: asyncio.Future[T] = asyncio.get_running_loop().create_future()
        self._queue.put((call, then, future))
        return future

    async def end(self) -> None:
        """Stop when all that was queued is done."""
        self.ended = True
        self._queue.put(None)
        await asyncio.to_thread(self._thread.join)

    def _work(self) -> None:
        while (job := self._queue.get()) is not None:
            call, then, future = job
            try:
                result, error = call(), None
            except BaseException as raised:
                result, error = None, raised
            with contextlib.suppress(RuntimeError):  # the event loop is closed: nobody is left to tell
                future.get_loop().call_soon_threadsafe(_deliver, future, then, result, error)
            del job, call, then, future, result, error


def _deliver(
    future: asyncio.Future[Any], then: Callable[[Any], None] | None, result: Any, error: BaseException | None
) -> None:
    if error is None and then is not None:
        then(result)
    if future.done():  # cancelled meanwhile
        return
    if error is None:
        future.set_result(result)
    else:
        future.set_exception(error)
