"""Codes and sessions. Source: OWASP Session Management cheat sheet (single use, expiry, hashes, entropy)."""

from __future__ import annotations

import base64
from datetime import UTC, datetime, timedelta

import pytest

from rigd.server.sessions import CODE_LIFE, SESSION_LIFE, Role, SessionBook


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
def book(clock: Hands) -> SessionBook:
    return SessionBook(clock)


def test_a_code_lets_one_browser_in_once(book: SessionBook) -> None:
    code = book.invite(Role.HOST)
    secret = book.redeem(code)
    assert secret is not None
    assert book.redeem(code) is None
    session = book.find(secret)
    assert session is not None
    assert (session.role, session.source) == (Role.HOST, "page")


def test_a_code_grows_old(book: SessionBook, clock: Hands) -> None:
    code = book.invite(Role.HOST)
    clock.now += CODE_LIFE
    assert book.redeem(code) is None


def test_a_session_ends_after_long_silence_only(book: SessionBook, clock: Hands) -> None:
    secret = book.redeem(book.invite(Role.VIEWER)) or ""
    for _ in range(3):
        clock.now += SESSION_LIFE
        assert book.find(secret) is not None
    clock.now += SESSION_LIFE + timedelta(seconds=1)
    assert book.find(secret) is None
    assert book.listed() == ()


def test_the_run_token_lives_as_long_as_the_daemon(book: SessionBook, clock: Hands) -> None:
    token = book.run_token()
    clock.now += 10 * SESSION_LIFE
    session = book.find(token)
    assert session is not None
    assert (session.role, session.source) == (Role.HOST, "command line")


def test_a_revoked_session_is_gone_and_others_stay(book: SessionBook) -> None:
    first, second = (book.redeem(book.invite(Role.VIEWER)) or "" for _ in range(2))
    session = book.find(first)
    assert session is not None
    assert book.revoke(session.session_id)
    assert not book.revoke(session.session_id)
    assert book.find(first) is None
    assert book.find(second) is not None


def test_codes_and_secrets_have_enough_bits_and_never_repeat(book: SessionBook) -> None:
    made = {book.invite(Role.HOST) for _ in range(50)} | {book.run_token() for _ in range(50)}
    assert len(made) == 100
    # At least 128 bits for a code and 256 for a session (the project's own rules).
    assert all(len(base64.urlsafe_b64decode(text + "==")) >= 32 for text in made)


def test_only_hashes_are_kept(book: SessionBook) -> None:
    code, token = book.invite(Role.HOST), book.run_token()
    kept = repr(vars(book))
    assert code not in kept
    assert token not in kept


@pytest.mark.parametrize("guess", ["", "x", "é", "0" * 4000])
def test_a_guess_finds_nothing(book: SessionBook, guess: str) -> None:
    book.run_token()
    book.invite(Role.HOST)
    assert book.find(guess) is None
    assert book.redeem(guess) is None
