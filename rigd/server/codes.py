"""Codes that let a device in: the host's printed link, and pairing, which is open only while the host opens it.

A link carries a code of 192 random bits, once. For a device without a camera there are eight letters to type: their
34.5 bits (RFC 8628, section 6.1) are enough for ten minutes and five wrong tries in all, after which pairing is shut
and takes a new code. Only keyed hashes are kept; comparisons take the same time whether they match or not.
"""

from __future__ import annotations

import hashlib
import logging
import secrets
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from enum import IntEnum
from hmac import compare_digest

from msgspec import Struct

from rigd.server.problems import Problem

log = logging.getLogger("rigd.server")

# RFC 8628, section 6.1: consonants only, so that no word comes out, and none that looks like a digit.
LETTERS = "BCDFGHJKLMNPQRSTVWXZ"
LENGTH = 8
# 24 bytes: 192 bits, over the 128 that a single-use code needs, in 32 characters: a QR code that a dim screen can show.
CODE_BYTES = 24
PAIRING_LIFE = timedelta(minutes=10)
# The host's own link is opened when the terminal prints it. A quarter of an hour covers a walk to another room.
LINK_LIFE = timedelta(minutes=15)
WRONG_TRIES = 5
# What is longer than this was never typed by hand, and cannot be a guess at eight letters.
TYPED_AT_MOST = 24

BAD_CODE = Problem(
    403, "bad-code", "This link has been used, or is too old.", "A link lets one browser in, once.",
    "Take a new link: open pairing once more on the machine that rigd runs on, or restart rigd.",
)  # fmt: skip
SHUT = Problem(
    403, "pairing-shut", "Nobody is being let in at the moment.", "Pairing is open only while the host opens it.",
    "Ask whoever runs rigd to open pairing: on its page under Bench, or with: rigd devices pair.",
)  # fmt: skip
WORN_OUT = Problem(
    403, "pairing-shut", "Pairing was shut after too many wrong codes.", f"{WRONG_TRIES} wrong tries in all end it.",
    "Ask whoever runs rigd to open pairing once more, which gives a new code.",
)  # fmt: skip
HOST_IS_HERE = Problem(
    403, "host-only", "This link is for the machine that rigd runs on.", "The host's rights do not leave it.",
    "Open it there, or pair this device.",
)  # fmt: skip


class Role(IntEnum):
    """What a session may do; each role may do everything that the ones under it may."""

    VIEWER = 1
    OPERATOR = 2
    HOST = 3


class Pairing(Struct, frozen=True):
    """Pairing as it stands open: for which role, until when, and how many wrong codes were typed."""

    role: Role
    until: datetime
    wrong: int = 0


class Offer(Struct, frozen=True):
    """What the host shows: `code` goes into the link, `typed` is for fingers. Neither is kept."""

    code: str
    typed: str
    pairing: Pairing


def _now() -> datetime:
    return datetime.now(UTC)


def plain(text: str) -> str:
    """What was typed, without case, blanks and dashes."""
    return "".join(letter for letter in text.upper() if letter not in " -\t")


def spoken(code: str) -> str:
    """Eight letters as they are shown: two groups of four."""
    return f"{code[:4]}-{code[4:]}"


class Codes:
    """All codes that let somebody in now; none outlives the daemon."""

    def __init__(self, now: Callable[[], datetime] = _now) -> None:
        self._now = now
        self._key = secrets.token_bytes(32)
        self._links: dict[bytes, tuple[Role, datetime]] = {}
        self._pairing: Pairing | None = None
        self._keys: tuple[bytes, bytes] | None = None
        self._worn_out = False

    def link(self, role: Role, life: timedelta = LINK_LIFE) -> str:
        """A code for a link that lets one browser in as `role`, once, until `life` is over."""
        code = secrets.token_urlsafe(CODE_BYTES)
        self._links[self._digest(code)] = (role, self._now() + life)
        return code

    def open(self, role: Role) -> Offer:
        """Open pairing for one device; whatever was open before is shut."""
        code = secrets.token_urlsafe(CODE_BYTES)
        typed = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
        self._pairing = Pairing(role, self._now() + PAIRING_LIFE)
        self._keys = (self._digest(code), self._digest(typed))
        self._worn_out = False
        return Offer(code, spoken(typed), self._pairing)

    def shut(self) -> None:
        self._pairing = self._keys = None

    @property
    def pairing(self) -> Pairing | None:
        """Pairing, if it is open."""
        if self._pairing is not None and self._now() >= self._pairing.until:
            self.shut()
        return self._pairing

    @property
    def worn_out(self) -> bool:
        """True if wrong codes shut it, until it is opened again."""
        return self._worn_out

    def spend(self, code: str, local: bool, address: str = "") -> Role | Problem:
        """The role that this code gives, which it never gives again; or why it gives none.

        Args:
            code: from a link, or as it was typed.
            local: it comes from the machine that rigd runs on.
            address: where it comes from; a wrong one is told with it in the log.
        """
        link = self._match(code, list(self._links))
        if link is not None:
            return self._spend_link(link, local)
        if len(code) > TYPED_AT_MOST and self._match(code, self._paired()) is None:
            return BAD_CODE
        return self._spend_pairing(code, address)

    def _spend_link(self, digest: bytes, local: bool) -> Role | Problem:
        role, until = self._links[digest]
        if role is Role.HOST and not local:
            return HOST_IS_HERE
        del self._links[digest]
        return role if self._now() < until else BAD_CODE

    def _spend_pairing(self, code: str, address: str) -> Role | Problem:
        pairing = self.pairing
        if pairing is None:
            return WORN_OUT if self._worn_out else SHUT
        if self._match(code, self._paired()) or self._match(plain(code), self._paired()):
            self.shut()
            return pairing.role
        return self._wrong(pairing, address)

    def _wrong(self, pairing: Pairing, address: str) -> Problem:
        wrong = pairing.wrong + 1
        log.warning("Wrong pairing code %d of %d, from %s.", wrong, WRONG_TRIES, address or "this machine")
        if wrong >= WRONG_TRIES:
            self.shut()
            self._worn_out = True
            return WORN_OUT
        self._pairing = Pairing(pairing.role, pairing.until, wrong)
        left = WRONG_TRIES - wrong
        return Problem(
            403, "wrong-code", "That is not the code.", f"{left} more wrong {'try' if left == 1 else 'tries'}, and "
            "pairing is shut.", "Type the eight letters once more, as the host's screen shows them.",
        )  # fmt: skip

    def _paired(self) -> list[bytes]:
        return list(self._keys) if self.pairing is not None and self._keys else []

    def _digest(self, code: str) -> bytes:
        return hashlib.blake2b(code.encode(), key=self._key, digest_size=32).digest()

    def _match(self, code: str, digests: list[bytes]) -> bytes | None:
        """The one of `digests` that is the code's; all are compared whatever the outcome."""
        wanted = self._digest(code)
        return [None, *(d for d in digests if compare_digest(d, wanted))][-1]
