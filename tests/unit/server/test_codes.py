"""Codes that let a device in. Sources: RFC 8628 section 6.1 (the alphabet, 34.5 bits, few tries), OWASP Session
Management cheat sheet (single use, expiry, hashes). Ten minutes and five tries are the project's own numbers."""

from __future__ import annotations

import base64
import math
from datetime import UTC, datetime, timedelta

import pytest

from rigd.server.codes import BAD_CODE, HOST_IS_HERE, LETTERS, SHUT, WORN_OUT, Codes, Offer, Role
from rigd.server.problems import Problem


class Hands:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = datetime(2031, 3, 4, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Hands:
    return Hands()


@pytest.fixture
def codes(clock: Hands) -> Codes:
    return Codes(clock)


def unlike(offer: Offer) -> str:
    """Eight letters that are not the right ones."""
    return "".join(LETTERS[(LETTERS.index(letter) + 1) % len(LETTERS)] for letter in offer.typed.replace("-", ""))


def test_a_link_lets_one_browser_in_once(codes: Codes) -> None:
    code = codes.link(Role.HOST)
    assert codes.spend(code, local=True) is Role.HOST
    assert codes.spend(code, local=True) is BAD_CODE


def test_a_link_grows_old(codes: Codes, clock: Hands) -> None:
    code = codes.link(Role.HOST)
    clock.now += timedelta(minutes=15)
    assert codes.spend(code, local=True) is BAD_CODE


def test_the_hosts_link_is_of_no_use_elsewhere_and_is_not_used_up_there(codes: Codes) -> None:
    code = codes.link(Role.HOST)
    assert codes.spend(code, local=False) is HOST_IS_HERE
    assert codes.spend(code, local=True) is Role.HOST


@pytest.mark.parametrize("way", ["scanned", "typed"])
def test_pairing_lets_one_device_in_and_is_shut_then(codes: Codes, way: str) -> None:
    offer = codes.open(Role.OPERATOR)
    used, other = (offer.code, offer.typed) if way == "scanned" else (offer.typed, offer.code)
    assert codes.spend(used, local=False) is Role.OPERATOR
    assert codes.pairing is None
    assert isinstance(codes.spend(used, local=False), Problem)
    assert isinstance(codes.spend(other, local=False), Problem)


@pytest.mark.parametrize("written", [str.lower, lambda t: t.replace("-", ""), lambda t: " ".join(t), lambda t: t + " "])
def test_letters_may_be_typed_in_any_way(codes: Codes, written: type[str]) -> None:
    assert codes.spend(written(codes.open(Role.VIEWER).typed), local=False) is Role.VIEWER


def test_after_ten_minutes_it_is_shut(codes: Codes, clock: Hands) -> None:
    offer = codes.open(Role.OPERATOR)
    clock.now += timedelta(minutes=10)
    assert codes.pairing is None
    assert codes.spend(offer.typed, local=False) is SHUT
    assert codes.spend(offer.code, local=False) is BAD_CODE


def test_five_wrong_tries_in_all_end_it(codes: Codes) -> None:
    offer = codes.open(Role.OPERATOR)
    told = [codes.spend(unlike(offer), local=False) for _ in range(4)]
    assert [problem.detail.split()[0] for problem in told if isinstance(problem, Problem)] == ["4", "3", "2", "1"]
    assert codes.pairing is not None
    assert codes.pairing.wrong == 4
    assert codes.spend(unlike(offer), local=False) is WORN_OUT
    assert codes.spend(offer.typed, local=False) is WORN_OUT, "the right one comes too late"
    assert codes.spend(offer.code, local=False) is BAD_CODE
    again = codes.open(Role.OPERATOR)
    assert again.typed != offer.typed
    assert codes.spend(again.typed, local=False) is Role.OPERATOR


@pytest.mark.parametrize("guess", ["x", "BCDFGHJ", "BCDFGHJKL", "12345678", "é" * 8])
def test_every_wrong_word_counts(codes: Codes, guess: str) -> None:
    codes.open(Role.OPERATOR)
    assert isinstance(codes.spend(guess, local=False), Problem)
    assert codes.pairing is not None
    assert codes.pairing.wrong == 1


def test_an_old_link_opened_again_wears_nothing_out(codes: Codes) -> None:
    offer = codes.open(Role.OPERATOR)
    for _ in range(20):
        assert codes.spend("A" * 32, local=False) is BAD_CODE
    assert codes.spend(offer.typed, local=False) is Role.OPERATOR


def test_opening_again_shuts_what_was_open(codes: Codes) -> None:
    first, second = codes.open(Role.OPERATOR), codes.open(Role.VIEWER)
    assert isinstance(codes.spend(first.typed, local=False), Problem)
    assert codes.spend(first.code, local=False) is BAD_CODE
    assert codes.spend(second.code, local=False) is Role.VIEWER


def test_nobody_is_let_in_unasked(codes: Codes) -> None:
    assert codes.spend("BCDFGHJK", local=True) is SHUT
    codes.open(Role.OPERATOR)
    codes.shut()
    assert codes.spend("BCDFGHJK", local=True) is SHUT


def test_the_bits_are_enough() -> None:
    offer = Codes().open(Role.OPERATOR)
    # RFC 8628 section 6.1: 20 letters, 8 of them, 34.5 bits of entropy.
    assert len(set(LETTERS)) == 20
    assert math.isclose(8 * math.log2(20), 34.5, abs_tol=0.1)
    assert len(base64.urlsafe_b64decode(offer.code + "==")) * 8 >= 128
    typed = {Codes().open(Role.OPERATOR).typed for _ in range(200)}
    assert len(typed) == 200
    assert {letter for code in typed for letter in code} == {*LETTERS, "-"}


def test_nothing_that_lets_in_is_kept() -> None:
    codes = Codes()
    link, offer = codes.link(Role.HOST), codes.open(Role.OPERATOR)
    kept = repr(vars(codes))
    assert not any(text in kept for text in (link, offer.code, offer.typed, offer.typed.replace("-", "")))
