"""The same command twice. No outside source: the rule is the project's own."""

from __future__ import annotations

import asyncio

import pytest

from rigd.errors import Busy
from rigd.server.once import REMEMBERED, Once


async def test_the_same_command_is_carried_out_once_however_often_it_arrives() -> None:
    once, done = Once(), []

    async def work() -> int:
        await asyncio.sleep(0)
        done.append(True)
        return len(done)

    assert await asyncio.gather(*(once.run("n-1", work) for _ in range(5))) == [1] * 5
    assert await once.run("n-2", work) == 2


async def test_what_was_refused_may_be_tried_again() -> None:
    once, answers = Once(), [Busy("One thing at a time."), None]

    async def work() -> str:
        error = answers.pop(0)
        if error:
            raise error
        return "done"

    with pytest.raises(Busy):
        await once.run("n-1", work)
    assert await once.run("n-1", work) == "done"


async def test_many_commands_do_not_fill_the_memory() -> None:
    once = Once()

    async def work() -> None:
        return None

    for number in range(REMEMBERED + 50):
        await once.run(str(number), work)
    assert len(once._answers) == REMEMBERED
