"""Waiting for one motion to end, however the news of it comes."""

from __future__ import annotations

import asyncio

from rigd.drivers.board.refusals import restarted
from rigd.drivers.board.words import Answer, Rest
from rigd.errors import BoardError, Busy


class MotionWatch:
    """The one motion under way, if any."""

    def __init__(self) -> None:
        self._rest: asyncio.Future[Rest] | None = None

    def begin(self) -> asyncio.Future[Rest]:
        """Before the command is sent: a short motion may have ended before its answer is read. Raises Busy."""
        if self._rest is not None:
            raise Busy("The film is moving.", "One motion at a time; nothing queues.", "Wait until it rests.")
        self._rest = asyncio.get_running_loop().create_future()
        return self._rest

    def end(self) -> None:
        if self._rest is not None and not self._rest.done():
            self._rest.cancel()
        self._rest = None

    def rested(self, rest: Rest) -> None:
        """The board's own word."""
        if self._rest is not None and not self._rest.done():
            self._rest.set_result(rest)

    def asked(self, told: Answer, boot: int) -> None:
        """The board's state, asked for in between: where its own word was lost, this tells of the end too."""
        if told.number_of("boot") != boot:
            self.fail(restarted("unknown, the message was lost"))
        elif told.number_of("go") == 0:
            self.rested(Rest(told.number_of("at"), told.pairs["why"]))

    def fail(self, error: BoardError) -> None:
        """The motion's outcome is unknown."""
        if self._rest is not None and not self._rest.done():
            self._rest.set_exception(error)
            self._rest.exception()  # seen, if nobody waits any more
