"""A command that arrives twice is carried out once: the second gets the first one's answer."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from typing import TypeVar

T = TypeVar("T")

# A hand gives some thirty commands a minute: these are the last few minutes of several phones.
REMEMBERED = 256


class Once:
    """Answers by the nonce of their command. A refused command is not remembered: it may be tried again."""

    def __init__(self) -> None:
        self._answers: OrderedDict[str, object] = OrderedDict()
        self._one = asyncio.Lock()

    async def run(self, nonce: str, work: Callable[[], Awaitable[T]]) -> T:
        """The answer of `work`, or the one that this nonce had before. Raises what `work` raises."""
        async with self._one:
            if nonce in self._answers:
                return self._answers[nonce]  # type: ignore[return-value]  # one kind of command, one `Once`
            answer = await work()
            self._answers[nonce] = answer
            if len(self._answers) > REMEMBERED:
                self._answers.popitem(last=False)
            return answer
