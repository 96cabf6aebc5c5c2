"""Guessing the code that lets a device in: bounded, counted, and told.

Sources: RFC 8628 section 5.1 (brute force of a typed code: few tries) and 6.1 (the alphabet); five tries in all and ten
minutes are the project's own."""

from __future__ import annotations

import asyncio
import itertools
import json

import pytest
from tests.flow.hostile.attacks import Answer, ask, page, post
from tests.unit.server.serving import Served

from rigd.server import Role
from rigd.server.codes import LETTERS, WRONG_TRIES, Offer


async def guess(running: Served, code: str) -> Answer:
    """One try, by a connection of its own."""
    fields = {"Origin": running.url, "Content_Type": "application/json"}
    return await post(running, "/api/session", {"code": code, "name": "guest"}, **fields)


def guesses(offer: Offer) -> list[str]:
    """Words of the alphabet, none of which is the right one."""
    words = ("".join(letters) for letters in itertools.product(LETTERS, repeat=8))
    right = offer.typed.replace("-", "")
    return list(itertools.islice((word for word in words if word != right), 50))


async def test_fifty_guesses_at_once_have_five_tries(running: Served, caplog: pytest.LogCaptureFixture) -> None:
    """Many connections at the same moment do not have more tries than one."""
    offer = running.house.book.codes.open(Role.OPERATOR)
    answers = await asyncio.gather(*(guess(running, word) for word in guesses(offer)))
    codes = [answer.code for answer in answers]
    assert (codes.count("wrong-code"), codes.count("pairing-shut")) == (WRONG_TRIES - 1, 50 - WRONG_TRIES + 1)
    assert all(answer.status == 403 and json.loads(answer.body)["remedy"] for answer in answers)
    assert (await guess(running, offer.typed)).code == "pairing-shut", "the right one comes too late"
    assert (await guess(running, offer.code)).code == "bad-code", "and so does its link"
    assert running.house.book.listed() == ()
    told = [record.getMessage() for record in caplog.records]
    assert len(told) == WRONG_TRIES, "each counted try is in the log, and what comes after them does not fill it"
    assert all("127.0.0.1" in line for line in told)
    assert not any(word in line for line in told for word in guesses(offer)), "what was typed may be nearly right"


async def test_the_host_sees_the_tries_and_what_came_of_them(running: Served) -> None:
    host = page(running)
    offer = json.loads((await post(running, "/api/pairing", {"role": "viewer"}, **host)).body)
    for wrong in range(1, WRONG_TRIES):
        assert (await guess(running, "BCDFGHJK" if offer["typed"] != "BCDF-GHJK" else "BCDFGHJL")).code == "wrong-code"
        assert json.loads((await ask(running, "/api/pairing", **host)).body)["open"]["wrong"] == wrong
    assert (await guess(running, "BCDFGHJM")).code == "pairing-shut"
    seen = json.loads((await ask(running, "/api/pairing", **host)).body)
    assert (seen["open"], seen["worn_out"]) == (None, True)
    again = json.loads((await post(running, "/api/pairing", {"role": "viewer"}, **host)).body)
    assert again["typed"] != offer["typed"]
    assert json.loads((await ask(running, "/api/pairing", **host)).body)["worn_out"] is False
    assert (await guess(running, again["typed"])).status == 200


async def test_links_and_secrets_cannot_be_guessed_and_guessing_them_shuts_nothing(running: Served) -> None:
    """192 and 256 random bits: a stranger who tries them must not be able to shut the pairing of somebody else."""
    offer = running.house.book.codes.open(Role.OPERATOR)
    for number in range(30):
        assert (await guess(running, f"{number:032d}")).code == "bad-code"
        assert (await ask(running, "/api/state", Cookie=f"rigd_{running.server.port}={number:043d}")).status == 401
    assert running.house.book.codes.pairing is not None
    assert (await guess(running, offer.typed)).status == 200


@pytest.mark.parametrize("code", ["", " ", "\x00", "x" * 201, "ÀÉÎÕÜÝÞß", "\u202eBCDFGHJ", "BCDFGHJK\r\nX: y"])
async def test_no_word_breaks_it(running: Served, code: str) -> None:
    running.house.book.codes.open(Role.OPERATOR)
    answer = await guess(running, code)
    assert answer.status in (403, 422)
    assert running.house.book.listed() == ()
