"""Sessions. Source: OWASP Session Management cheat sheet (expiry, hashes, entropy, revocation)."""

from __future__ import annotations

import base64
import json
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rigd.server.sessions import SESSION_LIFE, SESSIONS, Role, Session, SessionBook
from rigd.server.vault import Vault


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


def known(book: SessionBook, secret: str) -> Session:
    session = book.find(secret)
    assert session is not None
    return session


def test_a_session_ends_after_long_silence_only(book: SessionBook, clock: Hands) -> None:
    secret = book.let_in(Role.VIEWER, "phone")
    for _ in range(3):
        clock.now += SESSION_LIFE
        assert book.find(secret) is not None
    clock.now += SESSION_LIFE + timedelta(seconds=1)
    assert book.find(secret) is None
    assert book.listed() == ()


def test_an_open_page_keeps_its_session(book: SessionBook, clock: Hands) -> None:
    secret = book.let_in(Role.VIEWER, "phone")
    session_id = known(book, secret).session_id
    for _ in range(5):
        clock.now += SESSION_LIFE
        book.seen(session_id)
    clock.now += SESSION_LIFE
    assert book.find(secret) is not None


def test_the_run_token_lives_as_long_as_the_daemon(book: SessionBook, clock: Hands) -> None:
    token = book.run_token()
    clock.now += 10 * SESSION_LIFE
    session = known(book, token)
    assert (session.role, session.source) == (Role.HOST, "command line")


def test_a_revoked_session_is_gone_and_others_stay(book: SessionBook) -> None:
    first, second = (book.let_in(Role.VIEWER, "phone") for _ in range(2))
    ended: list[int] = []
    book.on_end = ended.append
    session = known(book, first)
    assert book.revoke(session.session_id)
    assert not book.revoke(session.session_id)
    assert book.find(first) is None
    assert book.find(second) is not None
    assert ended == [session.session_id]


def test_secrets_have_enough_bits_and_never_repeat(book: SessionBook) -> None:
    made = {book.run_token() for _ in range(50)} | {book.let_in(Role.VIEWER, "p") for _ in range(50)}
    assert len(made) == 100
    # 256 bits for a session (the project's own rule).
    assert all(len(base64.urlsafe_b64decode(text + "==")) >= 32 for text in made)


def test_two_devices_never_have_one_name(book: SessionBook) -> None:
    secrets = [book.let_in(Role.OPERATOR, name) for name in ("phone", "phone", " phone ", "")]
    assert [known(book, secret).name for secret in secrets] == ["phone", "phone 2", "phone 3", "page"]
    third = known(book, secrets[2]).session_id
    assert book.rename(third, "phone")
    assert known(book, secrets[2]).name == "phone 3", "its own name is no other's"
    assert book.rename(third, "red phone")
    assert known(book, secrets[2]).name == "red phone"
    assert not book.rename(99, "nobody")


def test_sessions_are_bounded_and_the_one_that_was_silent_longest_goes(book: SessionBook, clock: Hands) -> None:
    secrets = []
    for _ in range(SESSIONS):
        clock.now += timedelta(seconds=1)
        secrets.append(book.let_in(Role.VIEWER, "phone"))
    clock.now += timedelta(seconds=1)
    assert book.find(secrets[0]) is not None, "heard of again"
    book.let_in(Role.VIEWER, "one more")
    assert book.find(secrets[1]) is None
    assert book.find(secrets[0]) is not None
    assert len(book.listed()) == SESSIONS


def test_browsers_are_known_again_after_a_restart_and_the_run_token_is_not(tmp_path: Path, clock: Hands) -> None:
    vault = Vault(tmp_path / "devices.json")
    before = SessionBook(clock, vault)
    phone, sent_away = before.let_in(Role.OPERATOR, "phone", "192.0.2.31"), before.let_in(Role.VIEWER, "tablet")
    token = before.run_token()
    before.revoke(known(before, sent_away).session_id)
    after = SessionBook(clock, vault)
    assert known(after, phone) == known(before, phone)
    assert (after.find(sent_away), after.find(token)) == (None, None)
    newest = known(after, after.let_in(Role.VIEWER, "tablet"))
    assert newest.session_id == 4, "an id is never used twice"


def test_a_session_that_was_silent_too_long_is_not_known_after_a_restart(tmp_path: Path, clock: Hands) -> None:
    vault = Vault(tmp_path / "devices.json")
    phone = SessionBook(clock, vault).let_in(Role.OPERATOR, "phone")
    clock.now += SESSION_LIFE + timedelta(seconds=1)
    assert SessionBook(clock, vault).find(phone) is None


def test_the_file_holds_hashes_only_and_is_for_this_user_alone(tmp_path: Path, clock: Hands) -> None:
    place = tmp_path / "devices.json"
    book = SessionBook(clock, Vault(place))
    secrets = [book.let_in(Role.OPERATOR, "phone"), book.run_token(), book.invite(Role.HOST)]
    text = place.read_text("utf-8")
    assert stat.S_IMODE(place.stat().st_mode) == 0o600
    assert not any(secret in text for secret in secrets)
    assert list(tmp_path.iterdir()) == [place], "nothing half-written is left"
    # FIPS 180-4: a SHA-256 digest has 64 hexadecimal digits.
    assert [len(digest) for digest in json.loads(text)["sessions"]] == [64]


@pytest.mark.parametrize("text", ["", "{", '{"sessions": 3}', '{"sessions": {"zz": 1}}', "\x00"])
def test_a_torn_file_lets_nobody_in_and_rigd_still_starts(tmp_path: Path, text: str) -> None:
    place = tmp_path / "devices.json"
    place.write_text(text, "utf-8")
    book = SessionBook(vault=Vault(place))
    assert book.listed() == ()
    assert book.find(book.let_in(Role.VIEWER, "phone")) is not None


def test_a_disk_that_takes_nothing_is_told_and_rigd_goes_on(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    book = SessionBook(vault=Vault(tmp_path / "no such folder" / "devices.json"))
    assert book.find(book.let_in(Role.VIEWER, "phone")) is not None
    assert "could not be saved" in caplog.text


def test_only_hashes_are_kept(book: SessionBook) -> None:
    code, token = book.invite(Role.HOST), book.run_token()
    kept = repr(vars(book)) + repr(vars(book.codes))
    assert code not in kept
    assert token not in kept


@pytest.mark.parametrize("guess", ["", "x", "é", "0" * 4000])
def test_a_guess_finds_nothing(book: SessionBook, guess: str) -> None:
    book.run_token()
    assert book.find(guess) is None
