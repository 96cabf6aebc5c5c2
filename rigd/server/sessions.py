"""Who has come in: single-use codes that become sessions, and the run token of the command line.

Only hashes are kept. Codes and secrets carry 256 random bits, so a plain SHA-256 is enough: there is nothing to guess
from. Comparisons take the same time whether they match or not.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from enum import IntEnum
from hmac import compare_digest

from msgspec import Struct
from msgspec.structs import replace

# 32 bytes: 256 bits, twice what a single-use code needs; it is never typed, so its length costs nobody anything.
SECRET_BYTES = 32
# The first link is opened when the terminal prints it. A quarter of an hour covers a walk to another room.
CODE_LIFE = timedelta(minutes=15)
# A session ends after this much silence: longer than a weekend between two days of the same job.
SESSION_LIFE = timedelta(days=4)


class Role(IntEnum):
    """What a session may do; each role may do everything that the ones under it may."""

    VIEWER = 1
    OPERATOR = 2
    HOST = 3


class Session(Struct, frozen=True):
    """One that came in. `source` is the name its actions carry in the ledger: "page" or "command line"."""

    session_id: int
    role: Role
    source: str
    made_at: datetime
    seen_at: datetime


class _Code(Struct, frozen=True):
    digest: bytes
    role: Role
    until: datetime


def _now() -> datetime:
    return datetime.now(UTC)


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode()).digest()


def _match(secret: str, digests: Iterable[bytes]) -> bytes | None:
    """The stored digest of `secret`, if there is one; every stored digest is compared whatever the outcome."""
    wanted = _digest(secret)
    return [None, *(d for d in digests if compare_digest(d, wanted))][-1]


class SessionBook:
    """All sessions of this run, in memory: a restarted daemon prints a new link."""

    def __init__(self, now: Callable[[], datetime] = _now) -> None:
        self._now = now
        self._codes: dict[bytes, _Code] = {}
        self._sessions: dict[bytes, Session] = {}
        self._count = 0

    def invite(self, role: Role, life: timedelta = CODE_LIFE) -> str:
        """A new single-use code that lets one browser in as `role`, until `life` is over."""
        code = secrets.token_urlsafe(SECRET_BYTES)
        self._codes[_digest(code)] = _Code(_digest(code), role, self._now() + life)
        return code

    def redeem(self, code: str) -> str | None:
        """Turn a code into a session; the session's secret. None if the code is unknown, used or too old."""
        found = _match(code, self._codes)
        if found is None:
            return None
        held = self._codes.pop(found)
        return self._open(held.role, "page") if self._now() < held.until else None

    def run_token(self) -> str:
        """A secret for the command line on this machine: it may do what the host may."""
        return self._open(Role.HOST, "command line")

    def find(self, secret: str) -> Session | None:
        """The live session of that secret, marked as seen now."""
        found = _match(secret, self._sessions)
        if found is None:
            return None
        session, now = self._sessions[found], self._now()
        if session.source == "page" and now - session.seen_at > SESSION_LIFE:
            del self._sessions[found]
            return None
        self._sessions[found] = replace(session, seen_at=now)
        return self._sessions[found]

    def revoke(self, session_id: int) -> bool:
        """End one session; True if it was there."""
        found = [digest for digest, session in self._sessions.items() if session.session_id == session_id]
        for digest in found:
            del self._sessions[digest]
        return bool(found)

    def listed(self) -> tuple[Session, ...]:
        """Every session, oldest first, with the time it was last seen."""
        return tuple(self._sessions.values())

    def _open(self, role: Role, source: str) -> str:
        secret, now = secrets.token_urlsafe(SECRET_BYTES), self._now()
        self._count += 1
        self._sessions[_digest(secret)] = Session(self._count, role, source, now, now)
        return secret
