"""Pure checks on a request's headers: is it for us, from our page, and in JSON? No input or output here."""

from __future__ import annotations

from collections.abc import Iterable

from rigd.server.problems import Problem

FOREIGN_HOST = Problem(
    403, "foreign-host", "rigd does not answer under this name.",
    "The request's Host is not one of the addresses that rigd listens on.", "Open the address that rigd printed.",
)  # fmt: skip
FOREIGN_ORIGIN = Problem(
    403, "foreign-origin", "Another site may not use rigd.",
    "The request came from a page that rigd did not serve.", "Open rigd's own page.",
)  # fmt: skip
WRONG_MEDIA = Problem(
    415, "media-type", "rigd reads JSON only.",
    "The Content-Type of the request is not application/json.", "Send application/json.",
)  # fmt: skip

Pairs = Iterable[tuple[bytes, bytes]]


def values(headers: Pairs, name: bytes) -> list[str]:
    """All values of one header, in order; names compare in lower case, as ASGI gives them."""
    return [value.decode("latin-1") for key, value in headers if key.lower() == name]


def check_host(headers: Pairs, hosts: frozenset[str]) -> Problem | None:
    """Exactly one Host, and it is one of ours to the letter: a name that was rebound to us is not."""
    found = values(headers, b"host")
    return None if len(found) == 1 and found[0].lower() in hosts else FOREIGN_HOST


def check_origin(headers: Pairs, origins: frozenset[str], required: bool) -> Problem | None:
    """An Origin, where there is one, is ours; where it is `required` it must be there.

    `Sec-Fetch-Site` is not sent on plain-http pages of a local network, so its absence passes; where it is sent,
    anything from elsewhere is refused.
    """
    found = values(headers, b"origin")
    if (found and (len(found) > 1 or found[0].lower() not in origins)) or (required and not found):
        return FOREIGN_ORIGIN
    site = values(headers, b"sec-fetch-site")
    return FOREIGN_ORIGIN if site and site[0] not in ("same-origin", "none") else None


def check_media(headers: Pairs) -> Problem | None:
    """A request that changes something says that it is JSON, even with an empty body: no form can do that."""
    found = values(headers, b"content-type")
    return None if found and found[0].split(";")[0].strip().lower() == "application/json" else WRONG_MEDIA


def cookie(headers: Pairs, name: str) -> str | None:
    """The value of one cookie. Of two with the same name the first counts, as browsers send the closer one first."""
    for line in values(headers, b"cookie"):
        for part in line.split(";"):
            key, _, value = part.strip().partition("=")
            if key == name:
                return value
    return None


def bearer(headers: Pairs) -> str | None:
    """The token of an `Authorization: Bearer` header (RFC 6750)."""
    found = values(headers, b"authorization")
    kind, _, token = found[0].partition(" ") if len(found) == 1 else ("", "", "")
    return token.strip() if kind.lower() == "bearer" and token.strip() else None
