"""Who has come in: sessions of browsers, kept over a restart, and the run token of the command line.

Only hashes are kept. Secrets carry 256 random bits, so a plain SHA-256 is enough: there is nothing to guess from.
Comparisons take the same time whether they match or not.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from hmac import compare_digest

from msgspec import Struct
from msgspec.structs import replace

from rigd.server.codes import Codes, Role
from rigd.server.problems import Problem
from rigd.server.vault import Vault

__all__ = ["Role", "Session", "SessionBook"]

SECRET_BYTES = 32
# A session ends after this much silence: longer than a weekend between two days of the same job.
SESSION_LIFE = timedelta(days=4)
# As many as a large studio has screens; the one that was silent longest makes room for the next.
SESSIONS = 64
COMMAND_LINE = "command line"


class Session(Struct, frozen=True):
    """One that came in. `name` is what its actions carry in the ledger; `kept` if it outlives a restart; `address`
    where it was seen last."""

    session_id: int
    role: Role
    name: str
    made_at: datetime
    seen_at: datetime
    address: str = ""
    kept: bool = True

    @property
    def source(self) -> str:
        """Under which name its actions stand in the ledger."""
        return self.name


class _Saved(Struct, frozen=True):
    """What lies in the vault: sessions by the hash of their secret, and how many there have ever been."""

    count: int = 0
    sessions: dict[str, Session] = {}


def _now() -> datetime:
    return datetime.now(UTC)


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode()).digest()


def _match(secret: str, digests: Iterable[bytes]) -> bytes | None:
    """The stored digest of `secret`, if there is one; every stored digest is compared whatever the outcome."""
    wanted = _digest(secret)
    return [None, *(d for d in digests if compare_digest(d, wanted))][-1]


class SessionBook:
    """All sessions. With a vault, those of browsers are there again after a restart."""

    def __init__(self, now: Callable[[], datetime] = _now, vault: Vault | None = None) -> None:
        self._now = now
        self._vault = vault
        self.codes = Codes(now)
        saved = (vault.load(_Saved) if vault else None) or _Saved()
        self._sessions = {bytes.fromhex(digest): session for digest, session in saved.sessions.items()}
        self._count = saved.count
        self.on_end: Callable[[int], None] = lambda _: None
        """Called with the id of a session that has ended."""

    def invite(self, role: Role) -> str:
        """A code for one link, as `Codes.link`."""
        return self.codes.link(role)

    def redeem(self, code: str, name: str = "page", address: str = "", local: bool = True) -> str | Problem:
        """Turn a code into a session; the session's secret, or why there is none."""
        role = self.codes.spend(code, local, address)
        return role if isinstance(role, Problem) else self.let_in(role, name, address)

    def let_in(self, role: Role, name: str, address: str = "") -> str:
        """A new session that outlives a restart; its secret."""
        self._expire()
        pages = [digest for digest, session in self._sessions.items() if session.kept]
        for digest in sorted(pages, key=lambda d: self._sessions[d].seen_at)[: max(0, len(pages) + 1 - SESSIONS)]:
            self._end(digest)
        return self._open(role, self._unlike_others(name), address, kept=True)

    def run_token(self) -> str:
        """A secret for the command line on this machine: it may do what the host may, for as long as this run."""
        return self._open(Role.HOST, COMMAND_LINE, "", kept=False)

    def find(self, secret: str, address: str = "") -> Session | None:
        """The live session of that secret, marked as seen now."""
        found = _match(secret, self._sessions)
        if found is None:
            return None
        session, now = self._sessions[found], self._now()
        if self._is_over(session):
            self._end(found)
            return None
        self._sessions[found] = replace(session, seen_at=now, address=address or session.address)
        return self._sessions[found]

    def seen(self, session_id: int) -> None:
        """A page of that session is open and awake."""
        for digest, session in self._sessions.items():
            if session.session_id == session_id:
                self._sessions[digest] = replace(session, seen_at=self._now())

    def revoke(self, session_id: int) -> bool:
        """End one session; True if it was there."""
        found = [digest for digest, session in self._sessions.items() if session.session_id == session_id]
        for digest in found:
            self._end(digest)
        return bool(found)

    def rename(self, session_id: int, name: str) -> bool:
        """Call it something else; True if it was there."""
        for digest, session in self._sessions.items():
            if session.session_id == session_id:
                self._sessions[digest] = replace(session, name=self._unlike_others(name, session_id))
                self.save()
                return True
        return False

    def listed(self) -> tuple[Session, ...]:
        """Every live session, oldest first, with the time it was last seen."""
        self._expire()
        return tuple(sorted(self._sessions.values(), key=lambda session: session.session_id))

    def save(self) -> None:
        """Write what outlives a restart. Quick: a few kilobytes, not forced to the disk."""
        if self._vault is not None:
            kept = {digest.hex(): session for digest, session in self._sessions.items() if session.kept}
            self._vault.save(_Saved(self._count, kept))

    # -- inside --------------------------------------------------------------------------------------------------

    def _open(self, role: Role, name: str, address: str, kept: bool) -> str:
        secret, now = secrets.token_urlsafe(SECRET_BYTES), self._now()
        self._count += 1
        self._sessions[_digest(secret)] = Session(self._count, role, name, now, now, address, kept)
        self.save()
        return secret

    def _end(self, digest: bytes) -> None:
        session = self._sessions.pop(digest)
        self.save()
        self.on_end(session.session_id)

    def _expire(self) -> None:
        for digest in [digest for digest, session in self._sessions.items() if self._is_over(session)]:
            self._end(digest)

    def _is_over(self, session: Session) -> bool:
        return session.kept and self._now() - session.seen_at > SESSION_LIFE

    def _unlike_others(self, name: str, but: int = 0) -> str:
        """`name`, with a number if somebody has it already: a name in the ledger means one device."""
        taken = {session.name for session in self._sessions.values() if session.session_id != but}
        wanted = name.strip() or "page"
        numbered = (f"{wanted} {number}" for number in range(2, SESSIONS + 3))
        return wanted if wanted not in taken else next(one for one in numbered if one not in taken)
