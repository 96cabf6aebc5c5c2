"""Where the daemon can be reached: its sockets, its names, and the addresses to show to people."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass

from rigd.config import ServerSection
from rigd.errors import InputError
from rigd.server import Door, GuardConfig, Offer, SessionBook, lan_door, listen, local_name, url_of


@dataclass(frozen=True)
class Doorway:
    """The open sockets and how they are called. `lan`: the address of the local network, "" for none; `name`: what is
    announced there, "" for nothing; `lasting`: the port was chosen, and is the same next time."""

    doors: tuple[Door, ...]
    section: ServerSection
    name: str = ""

    @property
    def port(self) -> int:
        return self.doors[0].port

    @property
    def lan(self) -> str:
        return self.section.lan

    @property
    def lasting(self) -> bool:
        return self.section.port != 0

    @property
    def url(self) -> str:
        """The page on this machine."""
        return url_of("http", self.section.host, self.port)

    @property
    def addresses(self) -> tuple[str, ...]:
        """The page for other devices, best first: where TLS is on, the names that its certificate may hold come first;
        an announced name is last, because not every phone asks for it. Without a local network, this machine's."""
        if not self.lan:
            return (self.url,)
        tls = self.doors[-1].tls is not None
        named, scheme = list(self.section.names), "https" if tls else "http"
        hosts = [*named, self.lan] if tls else [self.lan, *named]
        return tuple(url_of(scheme, host, self.port) for host in [*hosts, *([self.name] if self.name else [])])

    def link(self, offer: Offer) -> str:
        """What one other device can open to be let in."""
        return f"{self.addresses[0]}/#{offer.code}"

    def guard(self, book: SessionBook) -> GuardConfig:
        """Under which names rigd answers."""
        outside = [self.lan, *self.section.names, *([self.name] if self.name else [])] if self.lan else []
        own = (self.section.host, "127.0.0.1", "localhost", "::1")
        names = dict.fromkeys(f"[{name}]" if ":" in name else name.lower() for name in (*own, *outside))
        return GuardConfig(self.port, book, tuple(names), self.lan, self.addresses)


@contextlib.contextmanager
def doorway(section: ServerSection) -> Iterator[Doorway]:
    """Open the sockets; they are closed with the block.

    Raises:
        InputError: a port is taken, or an address is not this machine's. BadSetting: the certificate cannot be used.
    """
    if section.lan == section.host:
        raise InputError(
            f"{section.lan} is this machine's own loopback.", "No other device can reach it.",
            "Name an address of the local network with --lan, or leave --lan out.",
        )  # fmt: skip
    with contextlib.ExitStack() as stack:
        doors = [Door(listen(section.host, section.port))]
        stack.enter_context(contextlib.closing(doors[0].sock))
        if section.lan:
            doors.append(lan_door(section.lan, doors[0].port, section.certificate, section.key))
            stack.enter_context(contextlib.closing(doors[1].sock))
        announced = local_name() if section.lan and section.announce else ""
        yield Doorway(tuple(doors), section, announced)
