"""Limits on one client: body size, body time, pace. The numbers are the project's own (no outside source)."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable

import pytest
from starlette.types import Message

from rigd.server import limits
from rigd.server.limits import Pace, Refused, replay, whole_body


class Sender:
    """Sends these parts of a body, then nothing more."""

    def __init__(self, parts: Iterable[Message]) -> None:
        self._parts = list(parts)

    async def __call__(self) -> Message:
        if self._parts:
            return self._parts.pop(0)
        return await asyncio.Future()


def part(body: bytes, more: bool = True) -> Message:
    return {"type": "http.request", "body": body, "more_body": more}


async def test_a_body_in_parts_is_read_whole_and_given_once() -> None:
    body = await whole_body(Sender([part(b"ab"), part(b"c"), part(b"", more=False)]))
    assert body == b"abc"
    after: Message = {"type": "http.disconnect"}
    again = replay(body, Sender([after]))
    assert await again() == part(b"abc", more=False)
    assert await again() == after


async def test_a_body_at_the_limit_passes_and_one_byte_more_does_not() -> None:
    assert len(await whole_body(Sender([part(b"x" * limits.BODY_BYTES, more=False)]))) == limits.BODY_BYTES
    with pytest.raises(Refused) as refused:
        await whole_body(Sender([part(b"x" * limits.BODY_BYTES), part(b"x")]))
    assert refused.value.problem is limits.TOO_LARGE


async def test_a_body_that_does_not_end_is_given_up() -> None:
    with pytest.raises(Refused) as refused:
        await whole_body(Sender([part(b"x")]), seconds=0.0)
    assert refused.value.problem is limits.TOO_SLOW


async def test_half_a_body_is_never_taken_for_a_whole_one() -> None:
    with pytest.raises(Refused) as refused:
        await whole_body(Sender([part(b'{"nonce":"12345678"}'), {"type": "http.disconnect"}]))
    assert refused.value.problem is limits.BROKEN_OFF


def test_twenty_commands_a_second_and_each_sender_for_itself() -> None:
    now = [0.0]
    pace = Pace(now=lambda: now[0])
    assert [pace.allow("a") for _ in range(21)] == [True] * 20 + [False]
    assert pace.allow("b")
    now[0] = 0.999
    assert not pace.allow("a")
    now[0] = 1.0
    assert pace.allow("a")


def test_many_senders_do_not_fill_the_memory() -> None:
    pace = Pace(most=1, now=lambda: 0.0)
    for number in range(limits.SENDERS + 50):
        assert pace.allow(number)
    assert not pace.allow(limits.SENDERS + 49), "the latest is remembered"
    assert pace.allow(0), "the oldest is forgotten"
    assert len(pace._sent) <= limits.SENDERS
