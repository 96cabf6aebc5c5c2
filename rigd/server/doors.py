"""Where rigd listens: loopback always, and one address of the local network where it was asked for, with TLS or not."""

from __future__ import annotations

import socket
import ssl
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path

import ifaddr

from rigd.errors import BadSetting, InputError


@dataclass(frozen=True)
class Door:
    """One listening socket. `tls`: the context of its certificate, None for plain HTTP."""

    sock: socket.socket
    tls: ssl.SSLContext | None = None

    @property
    def port(self) -> int:
        return int(self.sock.getsockname()[1])


def listen(host: str, port: int) -> socket.socket:
    """A listening socket on that address; port 0 lets the system choose (`getsockname()[1]` tells which).

    Raises:
        InputError: the address is not this machine's, or the port is taken.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    try:
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind((host, port))
        sock.listen(128)
    except OSError as error:
        sock.close()
        raise InputError(
            f"rigd cannot listen on {host}, port {port}.", f"{error.strerror}.",
            "Choose another port with --port, or 0 for any free one.",
        ) from error  # fmt: skip
    return sock


def lan_door(address: str, port: int, certificate: Path | None, key: Path | None) -> Door:
    """A door on one address of the local network.

    Raises:
        InputError: it is no numeric address, every address at once, or none of this machine's.
        BadSetting: certificate and key cannot be used.
    """
    check_lan(address)
    tls = tls_of(certificate, key) if certificate is not None else None
    try:
        return Door(listen(address, port), tls)
    except InputError as error:
        if "assign" not in error.why:  # EADDRNOTAVAIL, "Cannot assign requested address"
            raise
        raise InputError(
            f"{address} is not an address of this machine.", f"It has {_own_words()}.", "Name one of its own.",
        ) from error  # fmt: skip


def check_lan(address: str) -> None:
    """Raises InputError unless it is one numeric address: a name, or every address at once, is not."""
    try:
        number = ip_address(address)
    except ValueError as error:
        raise InputError(
            f"{address} is no numeric address.", "A name may mean several addresses.",
            f"Name one of this machine's own with --lan: it has {_own_words()}.",
        ) from error  # fmt: skip
    if number.is_unspecified:
        raise InputError(
            f"rigd does not listen on every address at once, as {address} would mean.",
            "It serves the one network that you choose.",
            f"Name one of this machine's own with --lan: it has {_own_words()}.",
        )


def own_addresses() -> list[str]:
    """Addresses of this machine that others can reach, IPv4 first."""
    found = [ip.ip if isinstance(ip.ip, str) else ip.ip[0] for card in ifaddr.get_adapters() for ip in card.ips]
    useful = [text for text in found if not (ip_address(text).is_loopback or ip_address(text).is_link_local)]
    return sorted(useful, key=lambda text: (":" in text, text))


def _own_words() -> str:
    return ", ".join(own_addresses()) or "none but loopback"


def tls_of(certificate: Path, key: Path | None) -> ssl.SSLContext:
    """The context of a certificate (with its chain) and its key, PEM; the key may lie in the same file.

    Raises:
        BadSetting: a file is missing or does not fit.
    """
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        context.load_cert_chain(certificate, key)
    except (OSError, ssl.SSLError) as error:
        raise BadSetting(
            f"The certificate {certificate} cannot be used.", f"{error}.",
            "Give a PEM file with the certificate and its chain, and one with its unlocked key.",
        ) from error  # fmt: skip
    return context


def url_of(scheme: str, host: str, port: int) -> str:
    """`scheme://host:port`, an IPv6 address in brackets."""
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{port}"
